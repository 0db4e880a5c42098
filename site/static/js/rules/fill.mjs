/** @import { BlockFold, BlockKind, FillKind, Step, TarewellEvent } from "./types.mjs" */

import { foldBlock } from "./block.mjs";
import { inOrder } from "./fold.mjs";

/*
 * A tank that is filled step by step is worked as a block is, by the same fold. Its deeds have names of their own
 * (`fill_weighed`): whoever reads what blocks weighed, or which people were trained for them, takes none of it for a block's.
 */

const PREFIX = "fill_";

/** How the subjects of fills begin. */
export const FILL = "fill:";

/** @param {string} subject */
export const isOfFill = (subject) => subject.startsWith(FILL);

/** @param {string} id "t-lye.20261201070500" */
export const fillSubject = (id) => FILL + id;

/** "fill:t-lye.20261201070500" -> "t-lye.20261201070500" @param {string} subject */
export const fillOf = (subject) => subject.slice(FILL.length);

/** The tank of a fill, by its id. @param {string} id */
export const tankOf = (id) => id.slice(0, id.lastIndexOf("."));

/** The name under which a fill keeps a deed. @param {BlockKind} kind */
export const ofFill = (kind) => /** @type {FillKind} */ (PREFIX + kind);

/** A deed of a fill under the name that it has at a block; anything else as it is. @param {TarewellEvent} event @returns {TarewellEvent} */
export const asDeed = (event) =>
  event.kind.startsWith(PREFIX) ? { ...event, kind: /** @type {BlockKind} */ (event.kind.slice(PREFIX.length)) } : event;

/** Whether a fill is to be gone on with: its newest event closes it, or not. @param {TarewellEvent[]} events Of it, in order. */
export const isInHand = (events) => events.length > 0 && events.at(-1)?.kind !== "fill_closed";

/**
 * A fill as its events leave it: as a block's, but for its end. What is corrected after it was closed opens its closing again,
 * so that the tank's load is put right; the closing that counts is the last.
 *
 * @param {Step[]} steps As issued. @param {TarewellEvent[]} deeds Of the fill, under the names they have at a block.
 * @returns {BlockFold}
 */
export function foldFill(steps, deeds) {
  const ordered = inOrder(deeds);
  const fold = foldBlock(steps, ordered);
  const closed = ordered.findLast(({ kind }) => kind === "closed") ?? null;
  if (!closed) return fold;
  const standing = ordered.at(-1) === closed;
  // Whoever stopped it early goes on with none of its steps.
  return { ...fold, closed: standing ? closed : null, stale: false, index: fold.steps.length };
}

/** What was decided about lye that is too warm for its next portion. */
export const WAIT_AGAIN = "wait-again";
export const TOO_WARM = "too-warm";

/** Whether lye of this temperature is too warm for the portion that its step stands before. @param {Step} step @param {number} count */
export const isTooWarm = ({ kind, high }, count) => kind === "temperature" && high !== null && count > high;

/**
 * What comes behind a reading that was too warm: a wait, then the same reading anew. Of a fill planned before it was frozen
 * with one, the wait is that of its own portions.
 *
 * @param {Step[]} steps As they stand now, as frozen. @param {Step} step The one that was read. @param {Step[]} cooling Of the issued fill.
 * @returns {Step[]}
 */
export function readAgain(steps, step, cooling) {
  const of = /^lye:temp:\d+/.exec(step.key)?.[0] ?? step.key;
  const n = steps.filter(({ key }) => key === of || key.startsWith(`${of}:`)).length;
  const wait = cooling[0] ?? steps.find(({ kind }) => kind === "timer");
  const again = { ...step, key: `${of}:${n}` };
  return wait ? [{ ...wait, key: `wait:${again.key}` }, again] : [again];
}
