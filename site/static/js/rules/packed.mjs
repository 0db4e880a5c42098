/** @import { TarewellEvent } from "./types.mjs" */

/**
 * The packings that stand: those nobody took back, and those that somebody did who knew nothing of bars of them that were sent.
 * calc/stock/bars.py has the same rule.
 *
 * @param {TarewellEvent[]} events About packed lots.
 */
export function standingPackings(events) {
  const gone = new Set(events.flatMap(({ kind, takes }) => (kind === "packed_taken_back" ? [takes] : [])));
  const moved = new Set(events.filter(({ id, kind }) => (kind === "sent" || kind === "came_back") && !gone.has(id)).map(({ subject }) => subject));
  return events.filter(({ id, kind, subject }) => kind === "packed" && (!gone.has(id) || moved.has(subject)));
}
