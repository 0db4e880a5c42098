/** Days and times as people say them, in the page's language and, where the reader has that language, in the reader's way. */

import { clock, dayOn, localTime } from "../store/clock.mjs";

const DAY = 24 * 3_600_000;

const locale = () => {
  const { lang } = document.documentElement;
  return navigator.languages.find((each) => each.startsWith(lang)) ?? lang;
};

/**
 * A record's time is told by the clock of where it was written, which its `local` has: no zone moves it.
 *
 * @param {string} local "2026-11-25T14:36:00-06:00" @param {Intl.DateTimeFormatOptions} parts
 */
function said(local, parts) {
  const at = Date.parse(`${local.slice(0, 16).replace(" ", "T")}Z`);
  return Number.isNaN(at) ? local : new Intl.DateTimeFormat(locale(), { ...parts, timeZone: "UTC" }).format(at);
}

/** @param {string} day "2026-11-25" */
const midnight = (day) => Date.parse(`${day}T00:00:00Z`);

/** "Tue, Dec 1" @param {string} day */
export const dateWords = (day) => said(`${day}T00:00`, { weekday: "short", month: "short", day: "numeric" });

/** "today", "tomorrow"; further away "Tue, Dec 1". @param {string} day @param {string} today */
export function dayWords(day, today) {
  const ahead = Math.round((midnight(day) - midnight(today)) / DAY);
  if (Math.abs(ahead) <= 1) return new Intl.RelativeTimeFormat(locale(), { numeric: "auto" }).format(ahead, "day");
  return dateWords(day);
}

/** "2:36 PM" @param {string} local */
export const timeWords = (local) => said(local, { hour: "numeric", minute: "2-digit" });

/** "Dec 1, 2:36 PM"; of another year with that. @param {string} local */
export const whenWords = (local) =>
  said(local, {
    ...(local.slice(0, 4) === dayOn().slice(0, 4) ? {} : { year: "numeric" }),
    month: "short",
    day: "numeric",
    hour: "numeric",
    minute: "2-digit",
  });

/** A day in all the ways that somebody may type it: "November 5, 2026", "11/5/2026", "11/05/2026". @param {string} day */
export const typedWays = (day) => [
  said(`${day}T00:00`, { month: "long", day: "numeric", year: "numeric" }),
  said(`${day}T00:00`, { month: "numeric", day: "numeric", year: "numeric" }),
  said(`${day}T00:00`, { month: "2-digit", day: "2-digit", year: "numeric" }),
];

/** An instant in the same words. @param {string | number} instant */
export const instantWords = (instant) => whenWords(localTime(typeof instant === "number" ? instant : Date.parse(instant)));

/** "2:36 PM" of today, else with its day. @param {string | number} instant */
export function latelyWords(instant) {
  const local = localTime(typeof instant === "number" ? instant : Date.parse(instant));
  return local.slice(0, 10) === dayOn() ? timeWords(local) : whenWords(local);
}

/** What the clock shows now, as answers carry a time. */
export const nowLocal = () => localTime(clock.now()).slice(0, 16);

/** @type {Record<string, (local: string) => string>} */
const TELLING = { time: timeWords, day: dateWords, when: whenWords };

/** Tells the times of an answer or a frozen sheet in these words: Python doesn't know the reader's way. @param {ParentNode} place */
export function tellTimes(place) {
  // In a picture, where HTML has no element for a time, it is any text that says so.
  for (const each of place.querySelectorAll(/** @type {"time"} */ ("time[datetime], [data-datetime]"))) {
    const tell = TELLING[each.dataset.tells ?? ""];
    if (tell) each.textContent = tell(each.getAttribute("datetime") ?? each.dataset.datetime ?? "");
  }
}
