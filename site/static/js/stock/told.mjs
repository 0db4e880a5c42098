/** What the pages about stock tell Python beside the workshop: lots as they were saved, counts, what blocks used, what is planned, what is packed. */

import { app } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { savedLots } from "../log/lot_saves.mjs";
import { wholeLog } from "../log/whole.mjs";
import { plansOf } from "../rules/day.mjs";
import { AFTER_SALE_KINDS, STOCK_KINDS, TANK_KINDS } from "../rules/kinds.mjs";
import { replacedCodes } from "../rules/orders.mjs";
import { batchForCost, cutBatches, everFilled, sheetForNeeds, sheetsAsked } from "../rules/stock.mjs";
import { drawnFrom } from "../rules/tanks.mjs";
import { dayOn } from "../store/clock.mjs";
import { batch, eventsAbout, eventsBetween, eventsOfBatch, eventsOfKinds, recentBatches } from "../store/events.mjs";
import { makeStanding, weighingsFor } from "../store/standing.mjs";

/** @import { Kind, LogEntry, TarewellEvent } from "../rules/types.mjs" */

/** So many of the newest batches are looked at for blocks that plans ask for; for the cost of a bar; for what a blend was of. */
const [RECENT, COSTED, BLENDED] = [24, 6, 100];

/** What tells of bars that left the store. @type {Kind[]} */
const PACKED = ["packed", "packed_taken_back", "released", "sample_kept", "release_taken_back"];

/** Bars of so many blocks are offered to be counted. */
const OFFERED = 100;

/** Puts it beside the workshop as it was read. */
export async function readStock() {
  const { state } = app;
  const log = await wholeLog();
  const [ledger, packed, told, plans] = await Promise.all([
    readLedger(log),
    readPacked(),
    untilRead((limit) => eventsOfKinds(AFTER_SALE_KINDS, limit), () => []),
    untilRead((limit) => eventsBetween("day:", dayOn(), "~", limit), () => []),
  ]);
  const demo = [...(state.stock_log ?? []), ...(state.log_entries ?? [])];
  Object.assign(state, ledger);
  state.packed_events = [...(state.packed_events ?? []), ...packed];
  state.after_sale = told;
  state.day_plan = [...plansOf(plans)].map(([id, { values = {} }]) => ({ id, values }));
  state.in_store = inStore([...log].sort((a, b) => (a.at < b.at ? 1 : -1)), demo);
  await readSheets(log);
}

/** Packings and samples; of packings that were taken back also what was sent of them, by which they stand all the same. */
async function readPacked() {
  const packed = await untilRead((limit) => eventsOfKinds(PACKED, limit), () => []);
  const undone = new Set(packed.flatMap(({ kind, subject }) => (kind === "packed_taken_back" ? [subject] : [])));
  const moves = await Promise.all([...undone].map((subject) => untilRead(() => eventsAbout(subject), () => [])));
  return [...packed, ...moves.flat().filter(({ kind }) => kind === "sent" || kind === "came_back")];
}

/**
 * What every lot's account is reckoned from: lots as saved, counts, what blocks weighed, and what of it tanks had given.
 *
 * @param {LogEntry[]} log @param {boolean} [alone] Whether the log is a part of it: then only what its own batches drew is read.
 */
export async function readLedger(log, alone = false) {
  const { state } = app;
  const [saves, told, tanks] = await Promise.all([
    savedLots(),
    untilRead((limit) => eventsOfKinds(STOCK_KINDS, limit), () => []),
    untilRead((limit) => eventsOfKinds(TANK_KINDS, limit), () => []),
  ]);
  /** @type {TarewellEvent[]} */
  const events = [...(state.contents ?? []), ...tanks];
  const filled = everFilled(events);
  const drawn = drawnFrom(filled, filled.size > 0 ? await weighings(filled, alone ? log : null) : []);
  return {
    lot_saves: saves,
    stock: [...(state.stock ?? []), ...told],
    stock_log: [...(state.stock_log ?? []), ...log.map(({ code, local, formulaName, parts, used, drawn }) => ({ code, local, formulaName, parts, used, drawn }))],
    contents: [...events, ...drawn],
    sheets: (await Promise.all(sheetsAsked(drawn, BLENDED).map(blended))).flat(),
  };
}

/** What blocks weighed: of these batches, else of all that ever drew from these tanks. @param {ReturnType<typeof everFilled>} filled @param {LogEntry[] | null} log @returns {Promise<TarewellEvent[]>} */
async function weighings(filled, log) {
  if (!log) return untilMade((limit) => weighingsFor(filled, limit), makeStanding, () => []);
  return (await Promise.all(log.map(({ code }) => untilRead(() => eventsOfBatch(code), () => [])))).flat();
}

/** Blocks whose bars a form offers. @param {LogEntry[]} log The newest first. @param {any[]} demo */
function inStore(log, demo) {
  const all = [...log, ...demo].flatMap(({ code, formulaName, parts }) =>
    parts.flatMap((/** @type {any} */ { n, bars }) => (bars === null ? [] : [{ id: `${code}:${n}`, values: { name: word("bars-of", { batch: `${formulaName}, ${code} / ${n}` }) } }])));
  return all.slice(0, OFFERED);
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
