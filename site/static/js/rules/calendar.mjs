/** A calendar file for one instant, by RFC 5545: for times too long to wait for with the page open. */

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

/**
 * @param {{uid: string, at: number, stamp: number, title: string, description: string}} given `at` and `stamp` [ms]
 * @returns {string} One event with an alarm at its instant.
 */
export function icsText({ uid, at, stamp, title, description }) {
  const lines = [
    "BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Tarewell//At the scale//EN",
    "BEGIN:VEVENT", `UID:${escaped(uid)}`, `DTSTAMP:${utcStamp(stamp)}`, `DTSTART:${utcStamp(at)}`,
    `SUMMARY:${escaped(title)}`, `DESCRIPTION:${escaped(description)}`,
    "BEGIN:VALARM", "ACTION:DISPLAY", "TRIGGER:PT0S", `DESCRIPTION:${escaped(title)}`, "END:VALARM",
    "END:VEVENT", "END:VCALENDAR",
  ];
  return lines.map((line) => `${folded(line)}\r\n`).join("");
}
