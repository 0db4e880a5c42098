/** What the pages about stock tell Python beside the workshop: lots as they were saved, counts, what blocks used, what is planned, what is packed. */

import { app } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { wholeLog } from "../log/whole.mjs";
import { plansOf } from "../rules/day.mjs";
import { STOCK_KINDS, TANK_KINDS } from "../rules/kinds.mjs";
import { replacedCodes } from "../rules/orders.mjs";
import { batchForCost, cutBatches, everFilled, lotSaves, sheetForNeeds, sheetsAsked } from "../rules/stock.mjs";
import { drawnFrom } from "../rules/tanks.mjs";
import { dayOn } from "../store/clock.mjs";
import { batch, eventsBetween, eventsOfBatch, eventsOfKinds, recentBatches } from "../store/events.mjs";
import { makeStanding, weighingsFor } from "../store/standing.mjs";

/** @import { Item, Kind, LogEntry, TarewellEvent } from "../rules/types.mjs" */

/** So many of the newest batches are looked at for blocks that plans ask for; for the cost of a bar; for what a blend was of. */
const [RECENT, COSTED, BLENDED] = [24, 6, 100];

/** What tells of bars that left the store. @type {Kind[]} */
const PACKED = ["packed", "packed_taken_back", "sample_kept", "release_taken_back"];

/** Bars of so many blocks are offered to be counted. */
const OFFERED = 100;

/** Puts it beside the workshop as it was read. */
export async function readStock() {
  const { state } = app;
  const log = await wholeLog();
  const [saves, told, packed, plans] = await Promise.all([
    untilRead((limit) => eventsOfKinds(["saved"], limit), () => []),
    untilRead((limit) => eventsOfKinds(STOCK_KINDS, limit), () => []),
    untilRead((limit) => eventsOfKinds(PACKED, limit), () => []),
    untilRead((limit) => eventsBetween("day:", dayOn(), "~", limit), () => []),
  ]);
  state.lot_saves = [...demoSaves(), ...lotSaves(saves)];
  state.stock = [...(state.stock ?? []), ...told];
  state.packed_events = [...(state.packed_events ?? []), ...packed];
  state.day_plan = [...plansOf(plans)].map(([id, { values = {} }]) => ({ id, values }));
  const demo = state.stock_log ?? [];
  state.stock_log = [...demo, ...log.map(({ code, local, formulaName, parts, used }) => ({ code, local, formulaName, parts, used }))];
  state.in_store = inStore([...log].sort((a, b) => (a.at < b.at ? 1 : -1)), demo);
  await readDrawn();
  await readSheets(log);
}

/** Lots of the invented workshop that were changed since: what stood in their forms before. */
function demoSaves() {
  return ["oil_lot", "alkali_lot", "scent_lot"].flatMap((kind) => (app.demo[kind] ?? []).map((/** @type {Item} */ { id, values }) => ({ id: `demo-${id}`, kind: "invented", subject: `${kind}:${id}`, values })));
}

/** Blocks whose bars a form offers. @param {LogEntry[]} log The newest first. @param {any[]} demo */
function inStore(log, demo) {
  const all = [...log, ...demo].flatMap(({ code, formulaName, parts }) =>
    parts.flatMap((/** @type {any} */ { n, bars }) => (bars === null ? [] : [{ id: `${code}:${n}`, values: { name: word("bars-of", { batch: `${formulaName}, ${code} / ${n}` }) } }])));
  return all.slice(0, OFFERED);
}

/** What happened to tanks, and what blocks drew from them at any time. */
async function readDrawn() {
  const { state } = app;
  const told = await untilRead((limit) => eventsOfKinds(TANK_KINDS, limit), () => []);
  /** @type {TarewellEvent[]} */
  const events = [...(state.contents ?? []), ...told];
  const filled = everFilled(events);
  const weighings = filled.size > 0 ? await untilMade((limit) => weighingsFor(filled, limit), makeStanding, () => []) : [];
  const drawn = drawnFrom(filled, weighings);
  state.contents = [...events, ...drawn];
  state.sheets = (await Promise.all(sheetsAsked(drawn, BLENDED).map(blended))).flat();
}

/** @param {string} code */
async function blended(code) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const pours = (issued.pours ?? []).map((/** @type {any} */ { key, phase }) => ({ key, phase }));
  return [{ code, formula: issued.formula?.id ?? "", tare_g: issued.vessel?.tare_g ?? null, pours, closed: null }];
}

/** @param {LogEntry[]} log */
async function readSheets(log) {
  const { state } = app;
  const recent = await untilRead(() => recentBatches(RECENT), () => []);
  const replaced = replacedCodes(recent);
  const standing = recent.filter(({ code }) => !replaced.has(code));
  state.stock_sheets = (await Promise.all(standing.map(({ code }) => ofBatch(code, sheetForNeeds)))).flat();
  const cut = await Promise.all(cutBatches(log, COSTED).map(({ code }) => ofBatch(code, batchForCost)));
  state.stock_batches = [...cut.flat(), ...(state.stock_batches ?? [])];
}

/**
 * @template T
 * @param {string} code @param {(issued: TarewellEvent, events: TarewellEvent[]) => T | T[]} made
 */
async function ofBatch(code, made) {
  const [issued] = await untilRead(() => batch(code), () => []);
  return issued ? [made(issued, await untilRead(() => eventsOfBatch(code), () => []))].flat() : [];
}
