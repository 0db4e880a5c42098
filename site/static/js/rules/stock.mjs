import { blockOf } from "./block.mjs";
import { closingOf } from "./closing.mjs";
import { lotKey } from "./lot_key.mjs";
import { overBlocks } from "./orders.mjs";

/** @import { Filled } from "./tanks.mjs" */
/** @import { LogEntry, TarewellEvent } from "./types.mjs" */

/** The kinds of items that are lots of something weighed; calc/stock/told.py reads them. */
const LOT = /^(?:oil|alkali|scent|additive)_lot:/;

/** What the subject of a count of a block's bars begins with; calc/stock/bars.py has it too. */
export const BARS = "stock:bars/";

/** What was saved of lots, with what lies beneath: a figure that stood in the invented workshop already was not counted anew. @param {TarewellEvent[]} events In order. */
export const lotSaves = (events) =>
  events.filter(({ kind, subject }) => kind === "saved" && LOT.test(subject)).map(({ id, kind, subject, local, values }) => ({ id, kind, subject, local, values }));

/**
 * The batches that used of these lots: what is left of a lot hangs on no other.
 *
 * @param {LogEntry[]} log @param {Set<string>} keys Of every code that the lots ever bore.
 */
export const batchesWith = (log, keys) =>
  log.filter(({ used = [] }) => used.some(({ lot, parts = [], readings = [] }) => [lot, ...[...parts, ...readings].map((each) => each.lot)].some((each) => keys.has(lotKey(each)))));

/** The keys of what lye in tanks is called by sheets: how much is left of it, the tank tells. @param {TarewellEvent[]} tanks @returns {Set<string>} */
export const namesInTanks = (tanks) => new Set(tanks.flatMap(({ as_lot }) => (as_lot ? [lotKey(as_lot)] : [])));

/**
 * A tank that stands for all that ever were, as `drawnFrom` wants them: stock looks back further than to what is in a tank now.
 *
 * @param {TarewellEvent[]} events Of all tanks, in order. @returns {Map<string, Filled>}
 */
export function everFilled(events) {
  const loads = events.filter(({ kind }) => kind === "tank_loaded");
  const first = loads[0];
  if (!first) return new Map();
  const lots = [...new Set(loads.flatMap(({ as_lot }) => as_lot ?? []))];
  const since = loads.some(({ at }) => !at) ? "" : first.at;
  /** @type {[string, Filled][]} */
  const found = lots.length > 0 ? [["lye", { since, lots, lot: null }]] : [];
  return new Map(loads.some(({ as_lot }) => !as_lot) ? [...found, ["blends", { since, lots: [], lot: null }]] : found);
}

/**
 * The batches whose sheets are read for what blocks drew: of every display that was never tared the sheet tells the empty
 * vessel, or a whole vessel would count as drawn; of blends which oils they were of, where too many are there only of the newest.
 *
 * @param {TarewellEvent[]} drawn In order. @param {number} blends Of so many.
 */
export function sheetsAsked(drawn, blends) {
  const codes = (/** @type {TarewellEvent[]} */ events) => [...new Set(events.map(({ subject }) => blockOf(subject)[0]))];
  const gross = codes(drawn.filter(({ mode }) => mode === "gross"));
  return [...new Set([...gross, ...codes(drawn.filter(({ lot }) => !lot)).slice(-blends)])];
}

/**
 * An issued sheet, as far as it is reckoned from what its open blocks need and which blocks of a plan are made by it; none of
 * one without steps, that nobody weighs by.
 *
 * @param {TarewellEvent} issued @param {TarewellEvent[]} events Of all its blocks, in order.
 */
export function sheetForNeeds(issued, events) {
  const { code = "", formula, blocks = 1, steps, local, pours = [], oils = [], chemistry } = issued;
  if (!steps) return [];
  /** @type {Record<number, string>} */
  const begun = {};
  for (const { subject, local: at } of events) begun[blockOf(subject)[1]] ??= at.slice(0, 10);
  return [{
    code, blocks, issued_on: local.slice(0, 10), formula: formula?.id ?? "", closed: overBlocks(events), begun,
    pours: pours.map((/** @type {any} */ { key, kind, target_g, additive }) => ({ key, kind, target_g, ...(additive ? { additive } : {}) })),
    oils: oils.map((/** @type {{key: string}} */ { key }) => key),
    alkalis: (chemistry?.alkalis ?? []).map((/** @type {any} */ { pour, alkali, hydroxide_fraction }) => ({ pour, alkali, hydroxide_fraction })),
  }];
}

/** A block in one of these has no bars, nor will it: calc/stock/cost.py leaves it out too. @type {Set<string>} */
const NO_BARS = new Set(["issued", "ended", "apart"]);

/** The newest batches of which every block that was made is cut and counted. @param {LogEntry[]} entries @param {number} most */
export function cutBatches(entries, most) {
  const cut = entries.filter(({ parts }) => {
    const made = parts.filter(({ state }) => !NO_BARS.has(state));
    return made.length > 0 && made.every(({ bars }) => bars !== null);
  });
  return cut.sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0)).slice(0, most);
}

/** A batch as the cost of its bars is reckoned from: what its sheet asked for, and when work began and ended. @param {TarewellEvent} issued @param {TarewellEvent[]} events Of all its blocks, in order. */
export function batchForCost(issued, events) {
  const { code = "", blocks = 1, planned } = issued;
  const own = Array.from({ length: blocks }, (_, n) => n + 1).map((n) => {
    const told = events.filter(({ subject }) => subject === `block:${code}/${n}`);
    const amounts = closingOf(told)?.record?.amounts ?? [];
    return {
      n,
      amounts: amounts.map((/** @type {any} */ { pour, name, planned_g }) => ({ pour, name, planned_g })),
      events: told.map(({ kind, local }) => ({ kind, local })),
    };
  });
  return { code, planned_bars: planned?.total ?? null, blocks: own };
}
