/** Calendar files by RFC 5545: one instant, or some days, too long to wait for with the page open. */

const OCTETS = 75;

/** RFC 5545 3.3.11. @param {string} text */
const escaped = (text) => text.replace(/[\\;,]/g, "\\$&").replace(/\r\n|\r|\n/g, "\\n");

/** RFC 5545 3.3.5, form 2. @param {number} at [ms] */
const utcStamp = (at) => `${new Date(at).toISOString().slice(0, 19).replace(/[-:]/g, "")}Z`;

/** RFC 5545 3.1: no line over 75 octets, the next ones begin with a space. @param {string} line */
export function folded(line) {
  const encoder = new TextEncoder();
  const lines = [""];
  let octets = 0;
  for (const character of line) {
    const size = encoder.encode(character).length;
    if (octets + size > OCTETS) {
      lines.push(" ");
      octets = 1;
    }
    lines[lines.length - 1] += character;
    octets += size;
  }
  return lines.join("\r\n");
}

/** @param {string[]} events */
const calendar = (events) =>
  ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Tarewell//At the scale//EN", ...events, "END:VCALENDAR"].map((line) => `${folded(line)}\r\n`).join("");

/** RFC 5545 3.3.4. @param {string} day */
const dayStamp = (day) => day.replaceAll("-", "");

/**
 * @param {{stamp: number, days: {day: string, title: string}[]}} given `stamp` [ms]; days as "2026-12-01"
 * @returns {string} One event a day, the whole day long, with an alarm at nine in the morning.
 */
export const icsOfDays = ({ stamp, days }) =>
  calendar(days.flatMap(({ day, title }) => [
    "BEGIN:VEVENT", `UID:${escaped(`${day} ${title}`)}`, `DTSTAMP:${utcStamp(stamp)}`, `DTSTART;VALUE=DATE:${dayStamp(day)}`,
    `SUMMARY:${escaped(title)}`,
    "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT9H", `DESCRIPTION:${escaped(title)}`, "END:VALARM", "END:VEVENT",
  ]));

/**
 * @param {{stamp: number, instants: {at: number, title: string}[]}} given [ms]
 * @returns {string} One event an instant, with an alarm at it.
 */
export const icsOfInstants = ({ stamp, instants }) =>
  calendar(instants.flatMap(({ at, title }) => [
    "BEGIN:VEVENT", `UID:${escaped(`${utcStamp(at)} ${title}`)}`, `DTSTAMP:${utcStamp(stamp)}`, `DTSTART:${utcStamp(at)}`,
    `SUMMARY:${escaped(title)}`,
    "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S", `DESCRIPTION:${escaped(title)}`, "END:VALARM", "END:VEVENT",
  ]));

/**
 * @param {{uid: string, at: number, stamp: number, title: string, description: string}} given `at` and `stamp` [ms]
 * @returns {string} One event with an alarm at its instant.
 */
export const icsText = ({ uid, at, stamp, title, description }) =>
  calendar([
    "BEGIN:VEVENT", `UID:${escaped(uid)}`, `DTSTAMP:${utcStamp(stamp)}`, `DTSTART:${utcStamp(at)}`,
    `SUMMARY:${escaped(title)}`, `DESCRIPTION:${escaped(description)}`,
    "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S", `DESCRIPTION:${escaped(title)}`, "END:VALARM",
    "END:VEVENT",
  ]);
