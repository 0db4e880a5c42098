/** Days and times as people say them, in the page's language and, where the reader has that language, in the reader's way. */

const DAY = 24 * 3_600_000;

const locale = () => {
  const { lang } = document.documentElement;
  return navigator.languages.find((each) => each.startsWith(lang)) ?? lang;
};

/** @param {string} day "2026-11-25" */
const midnight = (day) => Date.parse(`${day}T00:00:00Z`);

/** "Tue, Dec 1" @param {string} day */
export const dateWords = (day) =>
  new Intl.DateTimeFormat(locale(), { weekday: "short", month: "short", day: "numeric", timeZone: "UTC" }).format(midnight(day));

/** "today", "tomorrow"; further away "Tue, Dec 1". @param {string} day @param {string} today */
export function dayWords(day, today) {
  const ahead = Math.round((midnight(day) - midnight(today)) / DAY);
  if (Math.abs(ahead) <= 1) return new Intl.RelativeTimeFormat(locale(), { numeric: "auto" }).format(ahead, "day");
  return dateWords(day);
}

/** "2:36 PM" @param {number} at [ms] */
export const timeWords = (at) => new Intl.DateTimeFormat(locale(), { hour: "numeric", minute: "2-digit" }).format(at);
