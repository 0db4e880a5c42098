/** Which phone a block, or a tank that is filled, is in hand on, where several phones share a workshop. */

import { inOrder } from "./fold.mjs";

/** @import { BlockFold, TarewellEvent } from "./types.mjs" */

/** @typedef {{device: string, person: string, at: string}} Elsewhere  Another phone, who is at it there, and when that was told last (UTC). */

/** What anybody does from wherever they see it: it takes nothing out of the hands of who weighs. */
const BESIDE = "corrected";

/**
 * The other phone that was the last to lead the work, null where it is this one or nobody can know: a phone that isn't paired
 * has no id, and neither has what was told before it was.
 *
 * @param {TarewellEvent[]} events Of one block before its rack, or of one fill under the names of a block's.
 * @param {string} device Of this phone, "" where it isn't paired.
 * @returns {Elsewhere | null}
 */
export function inHandElsewhere(events, device) {
  if (device === "" || events.some(({ kind }) => kind === "closed")) return null;
  const last = inOrder(events).findLast(({ kind }) => kind !== BESIDE);
  if (!last?.device || last.device === device) return null;
  return { device: last.device, person: last.person ?? "", at: last.at };
}

/**
 * The steps that two phones have weighed without knowing of each other. The fold counts the first; whether it was poured twice,
 * only people can say.
 *
 * @param {BlockFold} fold @returns {string[]} Their keys, in the order of the work.
 */
export const weighedTwice = ({ steps, again }) =>
  steps.flatMap(({ key }) => (again.get(key)?.some(({ kind }) => kind === "weighed") ? [key] : []));
