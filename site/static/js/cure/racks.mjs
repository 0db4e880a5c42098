/** What the pages of the cure rack tell Python beside the workshop: what happened on the racks, and what sheets say of a batch. */

import { app, onWorkshop } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { blockOf } from "../rules/block.mjs";
import { CURE_KINDS, isKind } from "../rules/kinds.mjs";
import { batch, eventsOfBatch, eventsOfKinds, recentBatches } from "../store/events.mjs";

/** @import { Item, TarewellEvent } from "../rules/types.mjs" */

/** Blocks of so many of the newest batches are looked at for what waits for a rack. */
const RECENT = 12;

/** What a block tells of its rack itself, at the cutter. */
const AT_CUTTER = ["racked"].filter(isKind);

onWorkshop(async () => {
  const told = await untilRead(() => eventsOfKinds([...CURE_KINDS, ...AT_CUTTER]), () => []);
  /** @type {TarewellEvent[]} */
  const events = [...(app.state.cure ?? []), ...told];
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const racked = told.filter(({ kind }) => AT_CUTTER.some((each) => each === kind)).map(({ subject }) => blockOf(subject)[0]);
  const codes = [...new Set([...recent.map(({ code }) => code), ...racked])];
  app.state.cure = events;
  app.state.sheets = (await Promise.all(codes.map(sheetOf))).flat();
  app.state.on_rack = onRack(events);
});

/** A sheet without what is only to be read: Python reckons the water from it. @param {string} code */
async function sheetOf(code) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const events = await untilRead(() => eventsOfBatch(code), () => []);
  const poured = events.filter(({ kind, outcome }) => kind === "closed" && outcome === "poured").map(({ subject }) => blockOf(subject)[1]);
  const { pours, batter_g, chemistry } = /** @type {any} */ (issued);
  return [{ code, soap: issued.formula?.name ?? code, pours, batter_g, chemistry, poured: [...new Set(poured)] }];
}

/** What a list offers of batches, as items: id and name. @param {TarewellEvent[]} events @returns {Item[]} */
function onRack(events) {
  const gone = new Set(events.flatMap(({ kind, takes }) => (kind === "cure_taken_back" ? [takes] : [])));
  const standing = events.filter(({ id }) => !gone.has(id));
  const ready = new Set(standing.filter(({ kind }) => kind === "cure_ready").map(({ subject }) => subject));
  /** @type {Map<string, Item>} */
  const found = new Map();
  for (const event of standing) {
    if (event.kind !== "cure_racked" && !AT_CUTTER.some((each) => each === event.kind)) continue;
    const [code, block] = blockOf(`block:${event.subject.slice(event.subject.indexOf(":") + 1)}`);
    if (ready.has(`cure:${code}/${block}`)) continue;
    const soap = event.soap ?? /** @type {any} */ (event).of_formula ?? found.get(`${code}:${block}`)?.values.soap ?? "";
    found.set(`${code}:${block}`, { id: `${code}:${block}`, values: { name: `${soap}, ${code} / ${block}`, soap } });
  }
  return [...found.values()].reverse();
}
