/** @import { TarewellEvent } from "./types.mjs" */

const TAKES = "_taken_back";

/**
 * What nobody took back, without the taking back itself. Whatever its kind, it names the one entry that it takes; a walk's
 * answers alone go by their own fold. calc/entry/taken_back.py has the same rule.
 *
 * @param {TarewellEvent[]} events
 */
export function standing(events) {
  const gone = new Set(events.flatMap(({ kind, takes }) => (takes && kind.endsWith(TAKES) ? [takes] : [])));
  return events.filter(({ id, kind }) => !gone.has(id) && !kind.endsWith(TAKES));
}
