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
  return { ...fold, closed: standing ? closed : null, index: fold.steps.length };
}
