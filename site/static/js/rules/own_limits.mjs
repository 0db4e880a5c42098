/** @import { Values } from "./types.mjs" */

/** A built-in limit in one unit: the unit's key in the form ("" where there is no choice), its symbol, the number. @typedef {[string, string, number]} BuiltIn */

const NO_BREAK = "\u00a0";

/** One plain decimal number, as the form lets it through; NaN for any other text. @param {string} text */
export const plainNumber = (text) => (/^\d{1,6}(?:[.,]\d{1,6})?$/.test(text) ? Number(text.replace(",", ".")) : NaN);

/**
 * A limit that the workshop holds more strictly than the built-in one, as it is shown; "" where it holds none. One that is
 * not stricter counts as none: the form refuses it, but a copy from elsewhere may bring it.
 *
 * @param {Values} values The workshop's form, as stored. @param {string} name @param {string} side "most" or "least"
 * @param {BuiltIn[]} builtIn The first is that of a form without a choice of unit.
 */
export function ownLimit(values, name, side, builtIn) {
  const own = plainNumber((values[name] ?? "").trim());
  const unit = values[`${name}.unit`] || builtIn[0]?.[0];
  const found = builtIn.find(([key]) => key === unit);
  if (!found) return "";
  const [, symbol, bound] = found;
  const stricter = side === "most" ? own > 0 && own < bound : own > bound;
  return stricter ? [String(own), symbol].filter(Boolean).join(NO_BREAK) : "";
}
