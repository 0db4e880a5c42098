import { inOrder } from "./fold.mjs";
import { daysAfter, monthsAfter } from "./training.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/**
 * @typedef {object} Eyewash  One kind of check as its events leave it.
 * @property {"never" | "faulty" | "over" | "held"} state
 * @property {string} day     of the last check
 * @property {string} until   the last day on which it still counts
 * @property {string} person
 */

/** Whether it is a day that is on the calendar. @param {unknown} value */
export const isDay = (value) =>
  typeof value === "string" && /^\d{4}-\d\d-\d\d$/.test(value) && daysAfter(value, 0) === value;

/**
 * The day that the check is of. One after today comes from a clock that was ahead. It is taken as today's, so that it can
 * be put right today.
 *
 * @param {TarewellEvent} event @param {string} today
 */
function dayOf({ day, local }, today) {
  const said = day ?? local.slice(0, 10);
  return said > today ? today : said;
}

/** @param {TarewellEvent} event What was found, where it was asked for. */
const inOrderThen = ({ order, way_free, tepid }) => [order, way_free, tepid].every((answer) => answer !== "no");

/**
 * The check of the latest day counts, whenever it was entered; of several on one day, the one recorded last. So a fault
 * stands until a check of its day or a later one. An earlier check says nothing about it.
 *
 * @param {Iterable<TarewellEvent>} events @param {"weekly" | "yearly"} which
 * @param {{days: number} | {months: number}} every @param {string} today @returns {Eyewash}
 */
export function eyewashOf(events, which, every, today) {
  /** @type {TarewellEvent | undefined} */
  let last;
  for (const event of inOrder(events)) {
    if (event.kind !== "eyewash_checked" || event.subject !== `eyewash:${which}`) continue;
    if (!last || dayOf(event, today) >= dayOf(last, today)) last = event;
  }
  if (!last) return { state: "never", day: "", until: "", person: "" };
  const day = dayOf(last, today);
  const until = "days" in every ? daysAfter(day, every.days) : monthsAfter(day, every.months);
  const state = !inOrderThen(last) ? "faulty" : until < today ? "over" : "held";
  return { state, day, until, person: last.person ?? "" };
}

/**
 * What the emergency card has to know: how the worst of the checks stands, and the first day on which one is overdue.
 *
 * @param {Eyewash[]} checks
 */
export function worstOf(checks) {
  const state = ["faulty", "never", "over", "held"].find((each) => checks.some((check) => check.state === each)) ?? "never";
  const until = checks.map((check) => check.until).sort()[0];
  return { state, overdue_from: until ? daysAfter(until, 1) : "" };
}
