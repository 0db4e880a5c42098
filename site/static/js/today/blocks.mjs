import { untilRead } from "../frame/unread.mjs";
import { blockOf, blockSubject, foldBlock } from "../rules/block.mjs";
import { batch, blocksInHand, eventsOfBatch, recentBatches } from "../store/events.mjs";

/** @import { BlockFold, TarewellEvent } from "../rules/types.mjs" */

/**
 * @typedef {object} BlockToday  A block that is in hand, or closed and still in its mould.
 * @property {string} code
 * @property {number} block
 * @property {TarewellEvent | null} issued  null where its sheet is not on this device, or there are two
 * @property {TarewellEvent[]} events
 * @property {BlockFold} fold
 */

/** How many blocks in hand are listed; the page at the scale lists more. */
export const SHOWN = 6;

/** A block that is closed may still be in its mould: those of the newest batches are looked at. All would take longer with every batch. */
const RECENT = 12;

/** @param {string} code @param {number} block @param {TarewellEvent[]} sheets @param {TarewellEvent[]} all Of the batch. @returns {BlockToday} */
function blockToday(code, block, sheets, all) {
  const issued = sheets.length === 1 ? (sheets[0] ?? null) : null;
  const events = all.filter(({ subject }) => subject === blockSubject(code, block));
  return { code, block, issued, events, fold: foldBlock(issued?.steps ?? [], events) };
}

/** The blocks that are begun and not closed, last touched first; one more than is listed. @returns {Promise<BlockToday[]>} */
export async function readInHand() {
  const entries = await untilRead(() => blocksInHand(SHOWN + 1), () => []);
  return Promise.all(entries.map(async ({ code, block }) => {
    const [sheets, events] = await untilRead(() => Promise.all([batch(code), eventsOfBatch(code)]));
    return blockToday(code, block, sheets, events);
  }));
}

/** The closed blocks of the newest batches whose time in the mould was started. @returns {Promise<BlockToday[]>} */
export async function readInMould() {
  const batches = await untilRead(() => recentBatches(RECENT), () => []);
  const found = await Promise.all(batches.map(async ({ code }) => {
    const events = await untilRead(() => eventsOfBatch(code));
    const closed = new Set(events.filter(({ kind }) => kind === "closed").map(({ subject }) => subject));
    const timed = events.filter(({ kind, action, subject }) => kind === "timed" && action === "started" && closed.has(subject));
    const subjects = [...new Set(timed.map(({ subject }) => subject))];
    const sheets = subjects.length > 0 ? await untilRead(() => batch(code)) : [];
    return subjects.map((subject) => blockToday(code, blockOf(subject)[1], sheets, events));
  }));
  return found.flat();
}
