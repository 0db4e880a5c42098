/** What the pages of the cure rack tell Python beside the workshop: what happened on the racks, and what sheets say of a batch. */

import { app, onWorkshop } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { blockOf } from "../rules/block.mjs";
import { CURE_KINDS } from "../rules/kinds.mjs";
import { AT_CUTTER, everRacked } from "../rules/racks.mjs";
import { batch, eventsOfBatch, eventsOfKinds, recentBatches } from "../store/events.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** So many batches that came off the racks last are still offered: for their label, or to be put back. */
const OFF_LISTED = 20;

/** Blocks of so many of the newest batches are looked at for what waits for a rack. */
const RECENT = 12;

onWorkshop(async () => {
  const told = await untilRead(() => eventsOfKinds([...CURE_KINDS, AT_CUTTER]), () => []);
  /** @type {TarewellEvent[]} */
  const events = [...(app.state.cure ?? []), ...told];
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const racked = told.filter(({ kind }) => kind === AT_CUTTER).map(({ subject }) => blockOf(subject)[0]);
  const codes = [...new Set([...recent.map(({ code }) => code), ...racked])];
  app.state.cure = events;
  app.state.sheets = (await Promise.all(codes.map(sheetOf))).flat();
  // What a list offers of batches, as items; those on a rack first, the newest first.
  const ever = everRacked(events).reverse();
  const offered = [...ever.filter(({ off }) => !off), ...ever.filter(({ off }) => off).slice(0, OFF_LISTED)];
  app.state.on_rack = offered.map(({ id, code, block, soap, off }) => {
    const batch = `${soap}, ${code} / ${block}`;
    return { id, values: { name: off ? word("off-the-rack", { batch }) : batch, soap } };
  });
});

/** A sheet without what is only to be read: Python reckons the water from it. @param {string} code */
async function sheetOf(code) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const events = await untilRead(() => eventsOfBatch(code), () => []);
  const poured = events.filter(({ kind, outcome }) => kind === "closed" && outcome === "poured").map(({ subject }) => blockOf(subject)[1]);
  const { pours, batter_g, chemistry, planned, set_aside } = issued;
  const kept = { code, soap: issued.formula?.name ?? code, pours, batter_g, chemistry, planned, ...(set_aside ? { set_aside } : {}) };
  return [{ ...kept, poured: [...new Set(poured)] }];
}
