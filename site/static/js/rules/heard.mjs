/** What a scale that speaks says about a step: which of its readings may be taken, and which slips show while it is poured. */

import { counts } from "./readings.mjs";
import { nameKey } from "./training.mjs";

/** @import { Heard, Step } from "./types.mjs" */

/**
 * @typedef {object} Reading          What a scale shows just now.
 * @property {string} name            the scale's, by which its steps know it
 * @property {string} at              ISO, by the clock of who reads it
 * @property {string} raw             what came, as text
 * @property {"stable" | "moving" | "over" | "under" | "zero_error" | "dashes" | "garbage" | "gone"} status
 * @property {boolean} zero           it stands at zero
 * @property {boolean | null} net
 * @property {string | null} count    as it would be typed: "12.34"
 * @property {"kg" | "g" | "lb" | "oz" | "lb:oz" | null} unit
 *
 * What is said of it beside the digits: that it has settled, or hasn't; else why there are none to be taken.
 * @typedef {Reading["status"] | "unit" | "below" | "digits"} Mark
 *
 * @typedef {{mark: Mark, text: string, count: number | null, unit: string, net: boolean | null}} Shown   count: what may be taken, null for nothing.
 *
 * @typedef {Pick<Step, "unit" | "decimals" | "division" | "low" | "high" | "close_valve">} Poured
 */

/** So long a reading is of now. [ms] */
const FRESH = 3_000;

/** @param {string} one @param {string} other */
export const isSameScale = (one, other) => nameKey(one) === nameKey(other);

/** One scale, as it has been heard on this page. */
export class HeardScale {
  constructor() {
    /** @type {Reading | null} */
    this.last = null;
    this.at = 0;
    /** Whether two readings in a row said the same, at rest: one alone may be a slip of the line. */
    this.twice = false;
  }

  /** @param {Reading} reading @param {number} now */
  hear(reading, now) {
    const { last } = this;
    this.twice = reading.status === "stable" && last?.status === "stable" && last.count === reading.count && last.unit === reading.unit;
    this.last = reading;
    this.at = now;
  }

  /** What it shows now: null where it never was heard, gone where it isn't any more. @param {number} now @returns {Reading | null} */
  now(now) {
    const { last } = this;
    if (!last || now - this.at < FRESH) return last;
    return { ...last, raw: "", status: "gone", zero: false, net: null, count: null, unit: null };
  }

  /** What a step's keypad shows of it. @param {number} now @param {Poured} step @returns {Shown | null} */
  shows(now, step) {
    const reading = this.now(now);
    return reading && shown(reading, step, this.twice);
  }
}

/** @param {Reading} reading @param {Poured} step @param {boolean} twice @returns {Shown} */
function shown({ status, count, unit, net }, { unit: wanted, decimals }, twice) {
  const none = (/** @type {Mark} */ mark) => ({ mark, text: "", count: null, unit: unit ?? "", net });
  if ((status !== "stable" && status !== "moving") || count === null) return none(status);
  // Never converted: whether the display is set otherwise, or the workshop's scale is, only a person can tell.
  if (unit !== wanted) return none("unit");
  if (count.startsWith("-")) return { ...none("below"), text: count };
  const text = onDisplay(count, decimals ?? 0);
  if (text === null) return none("digits");
  const settled = status === "stable" && twice;
  return { mark: settled ? "stable" : "moving", text, count: settled ? counts(text, decimals ?? 0) : null, unit: unit ?? "", net };
}

/** The digits as the workshop's scale shows them; null where it has others: then it isn't that one, or is set otherwise. @param {string} count @param {number} decimals */
function onDisplay(count, decimals) {
  const [whole = "", fraction = ""] = count.split(".");
  // Some send a zero more than their display has.
  if (fraction.length < decimals || /[1-9]/.test(fraction.slice(decimals))) return null;
  const text = decimals === 0 ? whole : `${whole}.${fraction.slice(0, decimals)}`;
  return counts(text, decimals) === null ? null : text;
}

/** What is kept with a reading that somebody confirms. @param {Reading} reading @returns {Heard} */
export const keptOf = ({ name, at, raw, status, count, unit }) => ({ scale: name, at, raw, status, count, unit });

/**
 * Slips that show before a reading is confirmed, the worst first. `untared`: the display is meant to count on, and tare was
 * pressed. `emptied`: it went back to zero in the middle of a pour. `fell`: it went down. `past`: more than the band takes.
 * `standing`: it didn't stand at zero when the step began. `valve`: so much is in that the valve is to be shut.
 *
 * @typedef {"untared" | "emptied" | "fell" | "past" | "standing" | "valve"} Slip
 * @typedef {{slip: Slip, at: number}} Noticed   at: the count that it is about
 */

/** Up to so many divisions a display drifts, or a hand on the vessel moves it: common practice, no source. */
const DRIFT = 2;

/** One pour as the scale tells it, from when its step is first shown. */
export class Pour {
  /** @param {Poured} step @param {{gross: boolean, goesOn: boolean}} how gross: without tare; goesOn: from what stands there, up or down */
  constructor(step, { gross, goesOn }) {
    this.step = step;
    this.gross = gross;
    this.goesOn = goesOn;
    /** What it showed first, at rest. @type {number | null} */
    this.first = null;
    /** Whether it stood at zero since the step began. */
    this.zero = false;
    /** The most it showed at rest. */
    this.top = 0;
    /** What it shows at rest, or had shown last. @type {number | null} */
    this.rests = null;
    /** What it shows, at rest or not. @type {number | null} */
    this.shows = null;
    /** What stood there when it went back to zero. */
    this.emptied = 0;
  }

  get drift() {
    return DRIFT * (this.step.division ?? 1);
  }

  /** @param {Shown} shown */
  hear({ text, count, net }) {
    this.shows = text === "" ? null : counts(text, this.step.decimals ?? 0);
    // Some say themselves that a tare is taken off.
    if (this.gross && net) this.zero = true;
    if (count === null) return;
    this.first ??= count;
    if (count === 0) {
      // Before the first zero it is what tare was pressed for.
      if (this.zero && this.top > this.drift) this.emptied = this.top;
      this.zero = true;
      this.top = 0;
    }
    this.top = Math.max(this.top, count);
    this.rests = count;
  }

  /** @returns {Noticed | null} */
  get noticed() {
    const { shows, rests, first, step: { low, high, close_valve } } = this;
    if (shows === null || this.goesOn) return null;
    if (this.gross) {
      if (this.zero) return { slip: "untared", at: 0 };
    } else if (this.emptied > 0) return { slip: "emptied", at: this.emptied };
    if (rests !== null && rests < this.top - this.drift) return { slip: "fell", at: this.top };
    if (high !== null && shows > high) return { slip: "past", at: high };
    const inBand = rests !== null && low !== null && rests >= low;
    if (!this.gross && !this.zero && first !== null && first > this.drift && !inBand) return { slip: "standing", at: first };
    return close_valve !== null && low !== null && shows >= close_valve && shows < low ? { slip: "valve", at: close_valve } : null;
  }
}
