import { word } from "../frame/words.mjs";

/** Digits as they are typed. */

const MOST_WHOLE_DIGITS = 7;

/** @param {string} typed @param {string} key @param {number} decimals @returns {string} */
export function press(typed, key, decimals) {
  const [whole = "", fraction] = typed.split(".");
  if (key === "back") return typed.slice(0, -1);
  if (key === ".") return decimals === 0 || fraction !== undefined ? typed : `${whole || "0"}.`;
  if (fraction !== undefined) return fraction.length < decimals ? typed + key : typed;
  if (whole === "0") return key;
  return whole.length < MOST_WHOLE_DIGITS ? typed + key : typed;
}

/**
 * What was typed, as the display shows it: its point stands where it stands there, typed or not.
 *
 * @param {string} typed @param {number} decimals
 */
export const pointed = (typed, decimals) =>
  typed === "" || typed.includes(".") ? typed : digits(Number(typed), decimals);

/** @param {number} count @param {number} decimals */
export function digits(count, decimals) {
  const text = String(count).padStart(decimals + 1, "0");
  return decimals === 0 ? text : `${text.slice(0, -decimals)}.${text.slice(-decimals)}`;
}

/** "16 point 3 4 kilograms" @param {string} text @param {string} unit */
export function readBack(text, unit) {
  const [whole = "", fraction = ""] = text.split(".");
  const spoken = word(`unit-spoken-${unit}`);
  if (fraction === "") return word("read-back-whole", { whole, unit: spoken });
  return word("read-back", { whole, digits: [...fraction].join(" "), unit: spoken });
}

/** The unit as it stands beside digits. @param {string} unit */
export const unitSign = (unit) => word(`unit-${unit}`);

/** What a key of a real keyboard stands for. @param {KeyboardEvent} event */
export function keyOf(event) {
  if (event.ctrlKey || event.metaKey || event.altKey) return null;
  if (/^[0-9]$/.test(event.key)) return event.key;
  if (event.key === "." || event.key === ",") return ".";
  return event.key === "Backspace" ? "back" : null;
}
