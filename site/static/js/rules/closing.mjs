/** @import { TarewellEvent } from "./types.mjs" */

/**
 * The closing of a block that counts: the first, as two phones may both close it, or the one that renews it once a reading was
 * put right. calc/block/closings.py has the same rule.
 *
 * @param {TarewellEvent[]} events In order, of one block or of several.
 * @param {string} [subject] Of which block.
 * @returns {TarewellEvent | null}
 */
export function closingOf(events, subject) {
  const closings = events.filter((event) => event.kind === "closed" && (subject === undefined || event.subject === subject));
  return closings.reduce((/** @type {TarewellEvent | null} */ counts, event) => (counts === null || event.renews === counts.id ? event : counts), null);
}

/**
 * Whether the record of a poured block says otherwise than its readings: one was put right since, or another phone closed it
 * again for another reason.
 *
 * @param {TarewellEvent[]} events In order, all of one block.
 */
export function isStale(events) {
  const counts = closingOf(events);
  if (counts?.outcome !== "poured") return false;
  const weighed = new Set(events.flatMap(({ id, kind }) => (kind === "weighed" ? [id] : [])));
  return events.slice(events.indexOf(counts) + 1).some(({ kind, corrects = "", renews }) => (kind === "corrected" && weighed.has(corrects)) || (kind === "closed" && renews));
}
