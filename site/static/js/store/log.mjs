import { inOrder } from "../rules/fold.mjs";
import { ABOUT_BLOCK, batchOf, FOLD, logEntry } from "../rules/log.mjs";
import { ENTRIES, Entries, read } from "./derived.mjs";

/** @import { LogEntry, TarewellEvent } from "../rules/types.mjs" */
/** @import { Writing } from "./database.mjs" */

/* The batch log: one entry for each batch, by its code. */

/** All about a batch, in order. @param {Writing} transaction @param {string} code @returns {Promise<TarewellEvent[]>} */
async function allOf(transaction, code) {
  const index = transaction.objectStore("events").index("subject");
  // "0" is the character after "/": all subjects that begin with the code and a slash.
  const found = [await index.getAll(`batch:${code}`)];
  // One after the other: of several at once, the refusal of a later one would leave the earlier ones unheard.
  for (const room of ABOUT_BLOCK) found.push(await index.getAll(IDBKeyRange.bound(`${room}:${code}/`, `${room}:${code}0`, false, true)));
  return inOrder(found.flat().filter((event) => batchOf(event)?.[0] === code));
}

export const LOG = new Entries({
  store: "log",
  named: "code",
  fold: FOLD,
  keyOf: (event) => batchOf(event)?.[0] ?? null,
  made: async (transaction, code) => logEntry(await allOf(transaction, code)),
  keys: async (transaction) => (await transaction.objectStore("batches").getAll()).map(({ code }) => code),
});

/** Sees to it that every batch has its entry, and comes back at once where that is so. @param {(share: number) => void} [told] Called with how much of the work is done, where there is some. */
export const makeLog = (told) => LOG.make(told);

/**
 * Every batch's entry, in no order; null while some are still to be made.
 *
 * @param {number} [limit] [ms]
 * @returns {Promise<LogEntry[] | null>}
 */
export const allLog = (limit) =>
  LOG.whole(async (transaction) => /** @type {LogEntry[]} */ (await transaction.objectStore("log").getAll(ENTRIES())), limit);

/**
 * The newest entries; null while some are still to be made. How many there are in all is known once all are read: a count goes
 * through every one.
 *
 * @param {number} most @param {number} [limit] [ms]
 * @returns {Promise<LogEntry[] | null>}
 */
export const newestLog = (most, limit) =>
  LOG.whole(async (transaction) => {
    const index = transaction.objectStore("log").index("at");
    // A cursor takes its time for each step: from the oldest that is shown on, all are read at once.
    const cursor = await index.openKeyCursor(null, "prev");
    const oldest = most > 1 ? await cursor?.advance(most - 1) : cursor;
    return (await index.getAll(oldest ? IDBKeyRange.lowerBound(oldest.key) : null)).slice(-most).reverse();
  }, limit);

/** One batch as its events have it, whether or not its entry is made; null where there is none. @param {string} code @param {number} [limit] [ms] @returns {Promise<LogEntry | null>} */
export const logOf = (code, limit) => read(async (transaction) => logEntry(await allOf(transaction, code)), limit);

/** All about a batch, in order: its sheet, its blocks, their racks and their release. @param {string} code @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const allAbout = (code, limit) => read((transaction) => allOf(transaction, code), limit);
