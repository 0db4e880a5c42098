import { misfitOf } from "../rules/schema.mjs";
import { isObject, isText, NAME_LENGTH } from "../rules/shape.mjs";
import { END_OF_TIME } from "./clock.mjs";

/** @import { Misfit } from "../rules/schema.mjs" */
/** @import { TarewellEvent } from "../rules/types.mjs" */

/** What an event must be to be stored, and to come back out of a copy: one rule, or a copy would be refused for what was stored once. */

const LIMITS = { depth: 8, text: 1_000_000, name: NAME_LENGTH, entries: 5000 };

/** Keys that would reach an object's prototype. */
const FORBIDDEN = new Set(["__proto__", "constructor", "prototype"]);

/**
 * Whether events are plain data within the limits.
 *
 * @param {unknown[]} events The list itself may be long.
 */
export const arePlain = (events) => events.every((event) => plain(event, LIMITS.depth - 1));

/** @param {unknown} value @param {number} depth @returns {boolean} */
function plain(value, depth) {
  if (value === null || typeof value === "boolean") return true;
  if (typeof value === "number") return Number.isFinite(value);
  if (typeof value === "string") return value.length <= LIMITS.text;
  if (depth === 0 || typeof value !== "object") return false;
  if (Array.isArray(value)) return value.length <= LIMITS.entries && value.every((held) => plain(held, depth - 1));
  const entries = Object.entries(value);
  return (
    entries.length <= LIMITS.entries &&
    entries.every(([key, held]) => key.length <= LIMITS.name && !FORBIDDEN.has(key) && plain(held, depth - 1))
  );
}

/** Ids are made of plain letters: one with markup or a slash in it comes from nobody's Tarewell. */
const ID = /^[\w-]{1,64}$/;
/** The declaration holds items and walks to plain letters. A batch's code is the workshop's to choose. */
const SUBJECT = /^[a-z_]{1,40}:\P{Cc}{1,110}$/u;
const UTC = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;
/** A phone's id, as a shop server gives it. */
const DEVICE = /^[a-z2-7]{10}$/;
const LOCAL = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$/;

/** @type {Record<string, (value: unknown) => boolean>} */
const COMMON = {
  id: (value) => isText(value) && ID.test(value),
  subject: (value) => isText(value) && SUBJECT.test(value),
  at: (value) => isText(value) && UTC.test(value) && !Number.isNaN(Date.parse(value)) && value < END_OF_TIME,
  device: (value) => value === undefined || (isText(value) && DEVICE.test(value)),
  local: (value) => isText(value) && LOCAL.test(value) && !Number.isNaN(Date.parse(value)),
};

/** The first part of an event that can't be stored, null where all can. @param {unknown} event @returns {Misfit | null} */
export function misfit(event) {
  if (!isObject(event) || !arePlain([event])) return { field: "" };
  const field = Object.keys(COMMON).find((name) => !COMMON[name]?.(event[name]));
  return field === undefined ? misfitOf(event) : { field };
}

/** @param {unknown} event @returns {event is TarewellEvent} */
export const fits = (event) => misfit(event) === null;
