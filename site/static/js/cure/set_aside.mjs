/** What lies set aside, as Python is told of it beside the workshop: each block's sheet and events, and the sheets that take of it. */

import { app, onWorkshop } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { isOfAside } from "../rules/set_aside.mjs";
import { batch, batchesTaking, blockEvents, eventsOfBatch } from "../store/events.mjs";
import { asideNow, makeStanding, rackedOf } from "../store/standing.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** So many lots are looked at, the newest: soap lies no longer than that in any shop, and each is sent with every question. */
const LOOKED = 24;

onWorkshop(async () => {
  const blocks = await untilMade((limit) => asideNow(LOOKED, limit), makeStanding, () => []);
  app.state.set_aside = (await Promise.all(blocks.map(lotOf))).flat();
  const taking = await untilRead((limit) => batchesTaking(blocks.map(({ id }) => id), limit), () => []);
  app.state.soap_uses = (await Promise.all(taking.map(useOf))).flat();
  const dried = await untilMade((limit) => rackedOf(blocks, limit), makeStanding, () => []);
  app.state.cure = [...(app.state.cure ?? []), ...dried];
});

/** A lot, as lists offer it, with no more than what it is reckoned from. @param {{id: string, code: string, block: number}} of */
async function lotOf({ id, code, block }) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const events = await untilRead(() => blockEvents(code, block), () => []);
  const { formula, pours, batter_g, chemistry, scent, set_aside, superfat, planned } = issued;
  const sheet = { code, formula, pours, batter_g, chemistry, scent, set_aside, superfat, planned, after: (issued.after ?? []).filter(isOfAside) };
  return [{ id, block, sheet, events: events.flatMap(needed), values: { name: `${formula?.name ?? code}, ${code} / ${block}` } }];
}

/** @param {TarewellEvent} event @returns {Partial<TarewellEvent>[]} */
function needed(event) {
  const { kind, record, html, ...rest } = event;
  if (kind !== "closed") return kind === "measured" || kind === "corrected" ? [event] : [];
  return [{ ...rest, kind, record: { amounts: record?.amounts, superfat: record?.superfat } }];
}

/** A sheet that takes of a lot, with all of its blocks. @param {{code: string}} entry */
async function useOf({ code }) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const { html, after, ...sheet } = issued;
  const events = await untilRead(() => eventsOfBatch(code), () => []);
  return [{ sheet, events: events.map(({ html: shown, record, ...event }) => event) }];
}
