/** What the pages of the cure rack tell Python beside the workshop: what happened on the racks, and what sheets say of a batch. */

import { decoded } from "../frame/address.mjs";
import { app, onWorkshop } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { blockOf } from "../rules/block.mjs";
import { everRacked } from "../rules/racks.mjs";
import { batch, eventsOfBatch, recentBatches } from "../store/events.mjs";
import { makeStanding, racksTold } from "../store/standing.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** So many batches that came off the racks last are still offered: for their label, or to be put back. */
const OFF_LISTED = 20;

/** Blocks of so many of the newest batches are looked at for what waits for a rack, and for their label. */
const RECENT = 20;

onWorkshop(async () => {
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const looked = [...recent.map(({ code }) => code), ...named()];
  const told = await untilMade((limit) => racksTold({ off: OFF_LISTED, codes: looked }, limit), makeStanding, () => []);
  /** @type {TarewellEvent[]} */
  const events = [...(app.state.cure ?? []), ...told];
  const racked = told.map(({ subject }) => blockOf(`block:${subject.slice(subject.indexOf(":") + 1)}`)[0]);
  app.state.cure = events;
  const waiting = new Set(looked);
  app.state.sheets = (await Promise.all([...new Set([...looked, ...racked])].map((code) => sheetOf(code, waiting.has(code))))).flat();
  // What a list offers of batches, as items; those on a rack first, the newest first.
  const ever = everRacked(events).reverse();
  const offered = [...ever.filter(({ off }) => !off), ...ever.filter(({ off }) => off).slice(0, OFF_LISTED)];
  app.state.on_rack = offered.map(({ id, code, block, soap, off }) => {
    const batch = `${soap}, ${code} / ${block}`;
    return { id, values: { name: off ? word("off-the-rack", { batch }) : batch, soap } };
  });
});

/** The batch that the page was opened for: of a block on a rack, or of a label. @returns {string[]} */
function named() {
  const [item = "", put = ""] = location.hash.slice(1).split(/\?(.*)/s);
  return [decoded(item).replace(/:\d+$/, ""), new URLSearchParams(put).get("batch") ?? ""].filter(Boolean);
}

/** A sheet without what is only to be read: Python reckons the water from it. @param {string} code @param {boolean} looked Whether blocks of it may wait for a rack. */
async function sheetOf(code, looked) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const events = looked ? await untilRead(() => eventsOfBatch(code), () => []) : [];
  const poured = events.filter(({ kind, outcome }) => kind === "closed" && outcome === "poured").map(({ subject }) => blockOf(subject)[1]);
  const { pours, batter_g, chemistry, planned, set_aside } = issued;
  const kept = { code, soap: issued.formula?.name ?? code, pours, batter_g, chemistry, planned, ...(set_aside ? { set_aside } : {}) };
  return [{ ...kept, poured: [...new Set(poured)] }];
}
