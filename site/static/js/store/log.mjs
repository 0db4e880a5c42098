import { inOrder } from "../rules/fold.mjs";
import { ABOUT_BLOCK, batchOf, FOLD, logEntry } from "../rules/log.mjs";
import { clock } from "./clock.mjs";
import { transact } from "./database.mjs";
import { allHere } from "./kept.mjs";

/** @import { LogEntry, TarewellEvent } from "../rules/types.mjs" */
/** @import { LogNote, Writing } from "./database.mjs" */

/*
 * The batch log: one entry for each batch, written with each event that is about it. Where many events come in at once, or
 * from a build that kept no log, entries are made afterwards, a few batches at a time. Until then nobody is given any: a list
 * with some of the batches would pass for all of them.
 */

/** Entries have a code, the note about them has none. */
const ENTRIES = () => IDBKeyRange.lowerBound("", true);

/** How long making them may stand still before it counts as failed. [ms] */
const STANDSTILL = 120_000;

/** How many batches are read at a time where entries are made. */
const AT_A_TIME = 50;

/** All about a batch, in order. @param {Writing} transaction @param {string} code @returns {Promise<TarewellEvent[]>} */
async function allOf(transaction, code) {
  const index = transaction.objectStore("events").index("subject");
  // "0" is the character after "/": all subjects that begin with the code and a slash.
  const found = [await index.getAll(`batch:${code}`)];
  // One after the other: of several at once, the refusal of a later one would leave the earlier ones unheard.
  for (const room of ABOUT_BLOCK) found.push(await index.getAll(IDBKeyRange.bound(`${room}:${code}/`, `${room}:${code}0`, false, true)));
  return inOrder(found.flat().filter((event) => batchOf(event)?.[0] === code));
}

/**
 * Writes a batch's entry as its events have it.
 *
 * @param {Writing} transaction @param {string} code @returns {Promise<void>}
 */
async function noteBatch(transaction, code) {
  const entry = logEntry(await allOf(transaction, code));
  const log = transaction.objectStore("log");
  await (entry ? log.put(entry) : log.delete(code));
}

/** In the transaction that adds an event. @param {Writing} transaction @param {TarewellEvent} event */
export async function noteLog(transaction, event) {
  const of = batchOf(event);
  if (of) await noteBatch(transaction, of[0]);
}

/** In the transaction that adds many: the entries of these batches are to be made anew. @param {Writing} transaction @param {Set<string>} codes */
export async function forgetLog(transaction, codes) {
  if (codes.size === 0) return;
  const log = transaction.objectStore("log");
  await Promise.all([...codes].map((code) => log.delete(code)));
  await log.put(note(0));
}

/** @param {number} fold @returns {LogNote} */
const note = (fold) => ({ code: "", fold, of: clock.uuid() });

/** @param {Writing} transaction */
const noted = async (transaction) => /** @type {LogNote | undefined} */ (await transaction.objectStore("log").get(""));

/**
 * Sees to it that every batch has its entry, and comes back at once where that is so.
 *
 * @param {(share: number) => void} [told] Called with how much of the work is done, where there is some.
 */
export async function makeLog(told = () => {}) {
  const { fold, of, codes } = await transact("readonly", missing, STANDSTILL);
  if (fold === FOLD) return;
  for (let n = 0; n < codes.length; n += AT_A_TIME) {
    told(n / codes.length);
    const some = codes.slice(n, n + AT_A_TIME);
    await transact("readwrite", (transaction) => Promise.all(some.map((code) => noteBatch(transaction, code))), STANDSTILL);
  }
  // Where more came in meanwhile, those are still to be made.
  const whole = await transact("readwrite", async (transaction) => {
    if ((await noted(transaction))?.of !== of) return false;
    await transaction.objectStore("log").put(note(FOLD));
    return true;
  }, STANDSTILL);
  if (!whole) await makeLog(told);
}

/** The batches whose entry is not there as this build makes it. @param {Writing} transaction */
async function missing(transaction) {
  const { fold, of } = (await noted(transaction)) ?? { fold: 0, of: undefined };
  if (fold === FOLD) return { fold, of, codes: [] };
  const [batches, entries] = await Promise.all([
    transaction.objectStore("batches").getAll(),
    /** @type {Promise<LogEntry[]>} */ (transaction.objectStore("log").getAll(ENTRIES())),
  ]);
  const there = new Set(entries.filter((entry) => entry.fold === FOLD).map(({ code }) => code));
  return { fold, of, codes: [...new Set(batches.map(({ code }) => code))].filter((code) => !there.has(code)) };
}

/**
 * Every batch's entry, in no order; null while some are still to be made.
 *
 * @param {number} [limit] [ms]
 * @returns {Promise<LogEntry[] | null>}
 */
export const allLog = (limit) =>
  whole(async (transaction) => /** @type {LogEntry[]} */ (await transaction.objectStore("log").getAll(ENTRIES())), limit);

/**
 * The newest entries, and how many there are in all; null while some are still to be made.
 *
 * @param {number} most @param {number} [limit] [ms]
 * @returns {Promise<{entries: LogEntry[], all: number} | null>}
 */
export const newestLog = (most, limit) =>
  whole(async (transaction) => {
    const index = transaction.objectStore("log").index("at");
    /** @type {LogEntry[]} */
    const entries = [];
    for (let cursor = await index.openCursor(null, "prev"); cursor && entries.length < most; cursor = await cursor.continue()) {
      entries.push(/** @type {LogEntry} */ (cursor.value));
    }
    return { entries, all: await index.count() };
  }, limit);

/** The batches that a lot is in or planned for, in no order; null while some are still to be made. @param {string} lot @param {number} [limit] [ms] @returns {Promise<LogEntry[] | null>} */
export const logByLot = (lot, limit) =>
  whole(async (transaction) => /** @type {LogEntry[]} */ (await transaction.objectStore("log").index("lots").getAll(lot)), limit);

/**
 * Reads from records that are all there.
 *
 * @template T
 * @param {(transaction: Writing) => Promise<T>} work @param {number} [limit] [ms]
 */
const read = (work, limit) =>
  transact("readonly", async (transaction) => (await Promise.all([work(transaction), allHere(transaction)]))[0], limit);

/**
 * @template T
 * @param {(transaction: Writing) => Promise<T>} work @param {number} [limit] [ms]
 */
const whole = (work, limit) =>
  read(async (transaction) => ((await noted(transaction))?.fold === FOLD ? work(transaction) : null), limit);

/** One batch as its events have it, whether or not its entry is made; null where there is none. @param {string} code @param {number} [limit] [ms] @returns {Promise<LogEntry | null>} */
export const logOf = (code, limit) => read(async (transaction) => logEntry(await allOf(transaction, code)), limit);

/** All about a batch, in order: its sheet, its blocks, their racks and their release. @param {string} code @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const allAbout = (code, limit) => read((transaction) => allOf(transaction, code), limit);
