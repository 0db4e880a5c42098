import { foldWalks } from "./walk.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/**
 * The day some months after a day of the calendar; the last of the month where that day is missing in it.
 *
 * @param {string} day "2026-08-31" @param {number} months @returns {string}
 */
export function monthsAfter(day, months) {
  const [year = 0, month = 1, date = 1] = day.split("-").map(Number);
  const first = new Date(Date.UTC(year, month - 1 + months, 1));
  const last = new Date(Date.UTC(first.getUTCFullYear(), first.getUTCMonth() + 1, 0)).getUTCDate();
  first.setUTCDate(Math.min(date, last));
  return first.toISOString().slice(0, 10);
}

/** @param {string} day @param {number} days */
export const daysAfter = (day, days) => new Date(Date.parse(`${day}T00:00:00Z`) + days * 86_400_000).toISOString().slice(0, 10);

/**
 * @typedef {object} Trained   One finished walk.
 * @property {string} helper
 * @property {string} guide
 * @property {string} language
 * @property {string} way
 * @property {string[]} phases
 * @property {string} day        it was signed, on the device's calendar
 * @property {string} until      last day it holds; "" where no renewal is set
 * @property {string[]} again    points whose answer was asked for again
 * @property {string} initials
 * @property {string} path       the drawn initials
 */

/**
 * The training record: who was walked through what. A walk counts once it is signed and no stop of it is open.
 *
 * @param {Iterable<TarewellEvent>} events Of all walks.
 * @param {number | null} months After which it has to be renewed.
 * @returns {Trained[]}
 */
export const trainings = (events, months) =>
  foldWalks(events).flatMap(({ begun, signed, stopped, index, points, again }) => {
    if (!signed || stopped || index < points.length) return [];
    const day = signed.local.slice(0, 10);
    return [{
      helper: begun.helper ?? "",
      guide: begun.guide ?? "",
      language: begun.language ?? "",
      way: begun.way ?? "",
      phases: begun.phases ?? [],
      day,
      until: months === null ? "" : monthsAfter(day, months),
      again: again.map(({ point }) => point ?? ""),
      initials: signed.initials ?? "",
      path: signed.path ?? "",
    }];
  });

/**
 * Whose training covers all of these phases today, each once.
 *
 * @param {Trained[]} all @param {string[]} phases @param {string} today
 */
export const covered = (all, phases, today) => {
  const helpers = [...new Set(all.map(({ helper }) => helper))];
  const holds = (/** @type {Trained} */ each) => each.until === "" || each.until >= today;
  return helpers.filter((helper) =>
    phases.every((phase) => all.some((each) => each.helper === helper && each.phases.includes(phase) && holds(each))),
  );
};
