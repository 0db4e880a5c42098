import { untilRead } from "../frame/unread.mjs";
import { blockOf, blockSubject, foldBlock } from "../rules/block.mjs";
import { asDeed, foldFill } from "../rules/fill.mjs";
import { readPoured } from "../scale/after_day.mjs";
import { batch, blocksInHand, eventsOfBatch, fillEvents, fillsInHand } from "../store/events.mjs";

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

/**
 * @typedef {object} FillToday  A tank that is being filled.
 * @property {string} id
 * @property {TarewellEvent} issued
 * @property {TarewellEvent[]} events  under the names that a block's have
 * @property {BlockFold} fold
 */

/** The fills that are begun and not closed, last touched first. @returns {Promise<FillToday[]>} */
export async function readFills() {
  const ids = await untilRead(() => fillsInHand(), () => []);
  const fills = await Promise.all(ids.map(async (id) => {
    const events = (await untilRead(() => fillEvents(id))).map(asDeed);
    const issued = events.find(({ kind }) => kind === "issued");
    const deeds = events.filter(({ kind }) => kind !== "issued");
    return issued ? [{ id, issued, events: deeds, fold: foldFill(issued.steps ?? [], deeds) }] : [];
  }));
  return fills.flat();
}

/** The closed blocks of the newest batches, of each what is still to be told. @returns {Promise<BlockToday[]>} */
export async function readClosed() {
  return (await readPoured()).map(({ subject, issued, events }) => blockToday(issued.code ?? "", blockOf(subject)[1], [issued], events));
}
