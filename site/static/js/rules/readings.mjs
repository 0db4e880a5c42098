/** @import { TarewellEvent } from "./types.mjs" */

/*
 * The readings of a block: which of them counts, and whether it lies in its band. A reading is compared as a whole number of
 * the display's last digit, never as a fraction.
 */

/** @param {string} typed @param {number} decimals @returns {number | null} null while it is no number. */
export function counts(typed, decimals) {
  const found = /^(\d{1,7})(?:\.(\d*))?$/.exec(typed);
  const fraction = found?.[2] ?? "";
  if (!found || fraction.length > decimals) return null;
  return Number(found[1] + fraction.padEnd(decimals, "0"));
}

/** The lots that stand, later ones over earlier ones. @param {TarewellEvent[]} events @returns {Record<string, string>} */
export const lotsOf = (events) =>
  Object.assign({}, ...events.filter(({ kind }) => kind === "lots").map(({ lots }) => lots ?? {}));

/** What corrects an event, in order. @param {TarewellEvent[]} events @param {TarewellEvent} event */
export const correctionsOf = (events, event) =>
  events.filter(({ kind, corrects }) => kind === "corrected" && corrects === event.id);

/** The event whose reading counts: the last correction, or the event itself. @param {TarewellEvent[]} events @param {TarewellEvent} event */
export const counting = (events, event) => correctionsOf(events, event).at(-1) ?? event;

/**
 * Whether a reading lies outside the band it was asked for. The band of the weighing counts, not the one of the sheet:
 * a top-up's target follows from what was weighed before it.
 *
 * @param {TarewellEvent} event @param {string} reading
 */
export function outside({ asked }, reading) {
  if (!asked) return false;
  const count = counts(reading, asked.decimals);
  return count === null || count < asked.low || count > asked.high;
}
