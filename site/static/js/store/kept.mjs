import { utc, clock } from "./clock.mjs";
import { StoreError } from "./database.mjs";
import { named } from "./mode.mjs";

/** @import { Writing } from "./database.mjs" */

/**
 * How many events have been kept on this device. The number stands in the database beside them and, apart from it, in
 * localStorage: where the second is higher, records are missing. A lower one, of an older build or of two tabs that wrote
 * at once, means nothing.
 */
const MARKER = named("kept");
/** Among the drafts: a store of its own would shut out every older build for one number. */
const NOTED = "records:kept";

/** How many this device knows to have been kept; 0 where it cannot know. */
export function remembered() {
  try {
    return Number(localStorage.getItem(MARKER)) || 0;
  } catch {
    return 0;
  }
}

/** Called once they are on disk, never before. @param {number} kept @param {boolean} [lower] Somebody has said that the rest is gone. */
export function remember(kept, lower = false) {
  try {
    if (lower || kept > remembered()) localStorage.setItem(MARKER, String(kept));
  } catch {
    // Without it a loss goes unnoticed, and nothing else changes.
  }
}

/** @param {Writing} transaction */
const count = (transaction) => transaction.objectStore("events").count();

/** @param {Writing} transaction @returns {Promise<number | undefined>} undefined where no build that counts has written yet */
async function noted(transaction) {
  const note = await transaction.objectStore("drafts").get(NOTED);
  return note && Number(note.values.n);
}

/** How many there are, by the note where there is one: counting goes through all of them. @param {Writing} transaction */
export const howMany = async (transaction) => (await noted(transaction)) ?? count(transaction);

/** How many closed a block, likewise: of ten thousand a count takes a second. @param {Writing} transaction @returns {Promise<number>} */
export async function howManyClosed(transaction) {
  const closed = (await transaction.objectStore("drafts").get(NOTED))?.values.closed;
  return closed === undefined ? countClosed(transaction) : Number(closed);
}

/** @param {Writing} transaction */
const countClosed = (transaction) => transaction.objectStore("events").index("kind").count("closed");

/**
 * Notes that events have been added; to be remembered once the transaction is complete.
 *
 * @param {Writing} transaction @param {number} added @param {number} [closed] How many of them closed a block.
 * @returns {Promise<number>} How many there are now.
 */
export async function note(transaction, added, closed = 0) {
  const before = (await transaction.objectStore("drafts").get(NOTED))?.values;
  // Counting goes through all of them: once, where none has been noted.
  const kept = before === undefined ? await count(transaction) : Number(before.n) + added;
  const ended = before?.closed === undefined ? await countClosed(transaction) : Number(before.closed) + closed;
  await transaction.objectStore("drafts").put({ key: NOTED, values: { n: String(kept), closed: String(ended) }, base: null, at: utc(clock.now()) });
  return kept;
}

/** Notes how many there are, whatever was noted before. @param {Writing} transaction */
export async function noteAnew(transaction) {
  await transaction.objectStore("drafts").delete(NOTED);
  return note(transaction, 0);
}

/** Refuses to go on where fewer events are there than were kept. @param {Writing} transaction */
export async function allHere(transaction) {
  const kept = remembered();
  if (kept === 0 || ((await noted(transaction)) ?? 0) >= kept) return;
  const here = await count(transaction);
  if (here < kept) throw new StoreError("store-lost", undefined, { kept, here });
}
