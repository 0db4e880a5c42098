/** Tables for a spreadsheet, as text. */

/** RFC 4180 wants these line ends; the mark at the beginning tells spreadsheets that it is UTF-8. */
const LINE = "\r\n";
export const MARK = "\ufeff";

/** OWASP, "CSV Injection": a text that begins so, or so behind blanks, would be run as a formula. A plain number is none. */
const FORMULA = /^(?:[\t\r\n]|\s*[=+\-@\uff1d\uff0b\uff0d\uff20])/;
const NUMBER = /^-?\d+(?:\.\d+)?$/;

/** @param {string | number | boolean | undefined} value */
export function cell(value) {
  if (value === undefined) return "";
  if (typeof value !== "string") return String(value);
  const text = FORMULA.test(value) && !NUMBER.test(value) ? `'${value}` : value;
  return `"${text.replaceAll('"', '""')}"`;
}

/** @param {(string | number | boolean | undefined)[]} cells */
export const line = (cells) => cells.map(cell).join(",") + LINE;
