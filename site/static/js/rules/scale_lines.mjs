/**
 * What one line of a scale's display says: the shop server reads it by the same patterns and is asked the same cases
 * (site/shop/speaks/frames.py, tests/fixtures/scale_lines.json).
 *
 * What can't be read beyond doubt is garbage, and neither an overload nor dashes are a number. No unit is made of another.
 */

import SAID from "../../../../shared/scale/lines.json" with { type: "json" };

/** @import { Reading } from "./heard.mjs" */

/** @typedef {Omit<Reading, "name" | "at">} Read */
/** @typedef {"sma" | "line"} Speaks   It is asked by SMA SCP-0499, or sends unasked. */

const SMA = new RegExp(SAID.sma);
const LINE = new RegExp(SAID.line, "i");
const NUMBER = new RegExp(SAID.number);
const OUNCES = new RegExp(SAID.ounces);
/** @type {Record<string, Reading["unit"]>} */
const UNITS = /** @type {any} */ (SAID.units);

/** Of SMA SCP-0499: E and I are errors of zero; with them, and with T, an error of tare, dashes stand for the weight. @type {Record<string, Reading["status"]>} */
const ERRORS = { O: "over", U: "under", E: "zero_error", I: "zero_error", T: "dashes" };

/** More isn't kept of a line, and one without an end ends here. */
const LONGEST = 100;

const NOTHING = { zero: false, net: null, count: null, unit: null };

/** @param {string} raw @param {Reading["status"]} status @param {boolean | null} [net] @returns {Read} */
const none = (raw, status, net = null) => ({ ...NOTHING, raw, status, net });

/** A weight of SMA SCP-0499, without its LF and CR. @param {string} text @returns {Read} */
export function readSma(text) {
  const found = SMA.exec(text)?.groups;
  // The tare alone, and ten times as many digits as the display has, were not asked for.
  if (!found || "Tgn".includes(found.mode ?? "")) return none(text, "garbage");
  const { status = "", mode, motion, weight = "", unit = "" } = found;
  const error = ERRORS[status];
  if (error) return none(text, error, mode === "N");
  return read(text, weight, unit, { moving: motion === "M", zero: status === "Z", net: mode === "N" });
}

/** A line that came unasked; pattern and unit where its display has its own. @param {string} text @param {RegExp} [pattern] @param {string} [unit] @returns {Read} */
export function readLine(text, pattern = LINE, unit = "") {
  const found = pattern.exec(text)?.groups;
  if (!found) return none(text, "garbage");
  const net = found.net ? true : found.gross ? false : null;
  if (found.over || found.under) return none(text, found.over ? "over" : "under", net);
  return read(text, found.weight ?? "", found.unit ?? unit, { moving: Boolean(found.moving), zero: Boolean(found.zero), net });
}

/** Whether a line says by itself that the display has settled, or that it hasn't. @param {string} text */
const tellsRest = (text) => {
  const found = LINE.exec(text)?.groups;
  return Boolean(found?.stable || found?.moving);
};

/** @param {string} raw @param {string} weight @param {string} unit @param {{moving: boolean, zero: boolean, net: boolean | null}} how @returns {Read} */
function read(raw, weight, unit, { moving, zero, net }) {
  const said = weight.trim();
  if (/^-+$/.test(said)) return none(raw, "dashes", net);
  const known = UNITS[unit.trim().replaceAll("_", "").toLowerCase()];
  const count = known === "lb:oz" ? ouncesOf(said) : countOf(said);
  if (!known || count === null) return none(raw, "garbage");
  return { raw, status: moving ? "moving" : "stable", zero: zero || !/[1-9]/.test(count), net, count, unit: known };
}

/** The number as it would be typed: "- 0,50" is "-0.50"; null for what is none. @param {string} said */
function countOf(said) {
  const found = NUMBER.exec(said)?.groups;
  if (!found) return null;
  const fraction = found.fraction || found.only || "";
  const whole = (found.whole ?? "0").replace(/^0+(?=\d)/, "");
  const text = fraction ? `${whole}.${fraction}` : whole;
  return found.sign === "-" && /[1-9]/.test(text) ? `-${text}` : text;
}

/** Pounds and ounces, "8:08.5", as they stand: no field takes both at once. @param {string} said */
const ouncesOf = (said) => (OUNCES.test(said) ? said.replace(",", ".") : null);

/** Lines out of what a port gives, some bytes at a time. The first may be a half, and is dropped. */
export class Splitter {
  constructor() {
    this.rest = "";
    this.begun = false;
  }

  /** @param {Uint8Array} came @returns {string[]} */
  feed(came) {
    const ended = (this.rest + [...came].map((byte) => (byte < 128 ? String.fromCharCode(byte) : `\\x${byte.toString(16)}`)).join("")).split(/[\r\n]/);
    this.rest = ended.pop() ?? "";
    if (this.rest.length > LONGEST) {
      ended.push(this.rest);
      this.rest = "";
    }
    if (ended.length > 0 && !this.begun) {
      this.begun = true;
      ended.shift();
    }
    // STX, ETX and NUL only frame a line.
    return ended.map((text) => text.replace(/^[\0\x02\x03]+|[\0\x02\x03]+$/g, "").slice(0, LONGEST)).filter((text) => text !== "");
  }
}

/** What of the readings that come is told, by a clock that it is given [ms]. */
export class Judge {
  /** @param {number} now */
  constructor(now) {
    this.readAt = this.heardAt = this.since = now;
    this.same = "";
  }

  /** @param {Speaks} speaks @param {string} text @param {number} now @returns {Read | null} null for nothing. */
  heard(speaks, text, now) {
    const reading = speaks === "sma" ? readSma(text) : readLine(text);
    this.heardAt = now;
    // One broken line among good ones says nothing about the scale.
    if (reading.status === "garbage") return now - this.readAt > SAID.silent_ms ? reading : null;
    this.readAt = now;
    const shown = `${reading.count} ${reading.unit}`;
    if (shown !== this.same) [this.same, this.since] = [shown, now];
    const settled = speaks === "sma" || tellsRest(text) || now - this.since >= SAID.settles_ms;
    return settled || reading.status !== "stable" ? reading : { ...reading, status: "moving" };
  }

  /** Nothing came just now. What it showed last is no reading any more. @param {number} now @returns {Read | null} */
  silent(now) {
    return now - this.heardAt > SAID.silent_ms ? none("", "gone") : null;
  }
}
