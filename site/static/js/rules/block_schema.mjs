import { isDay } from "./eyewash.mjs";
import { isObject, isText, sameKeys } from "./shape.mjs";

/** @import { BlockKind, Step } from "./types.mjs" */

/** What the events of a block must look like, before a copy from outside is taken in. */

/** @typedef {(value: unknown) => boolean} Check */

const READING = /^\d{1,9}(\.\d{1,6})?$/;
const UNITS = new Set(["g", "kg", "lb", "oz", "degC", "degF"]);
/** No display shows more decimals. */
const DECIMALS = 6;
const MOST_STEPS = 500;

/** @type {Check} */
const isName = (value) => isText(value);
/** @type {Check} */
const isNote = (value) => typeof value === "string" && value.length <= 5000;
/** @type {Check} */
const isReading = (value) => typeof value === "string" && READING.test(value);
/** @type {Check} */
const isUnit = (value) => typeof value === "string" && UNITS.has(value);
/** @type {Check} */
const isCount = (value) => Number.isSafeInteger(value);
/** @type {Check} */
const isSize = (value) => isCount(value) && Number(value) >= 0;
/** @type {Check} */
const isDecimals = (value) => isSize(value) && Number(value) <= DECIMALS;
/** @type {Check} */
const isFlag = (value) => typeof value === "boolean";
/** @param {...unknown} values @returns {Check} */
const oneOf = (...values) => (value) => values.includes(value);
/** @param {Check} check @returns {Check} */
const orNull = (check) => (value) => value === null || check(value);
/** Exactly these keys; those of `absent` may be missing. @param {Record<string, Check>} checks @param {string[]} [absent] @returns {Check} */
const shaped = (checks, absent = []) => (value) =>
  isObject(value) &&
  sameKeys(value, Object.keys(checks).filter((key) => key in value || !absent.includes(key))) &&
  Object.entries(checks).every(([key, check]) => !(key in value) || check(value[key]));
/** @param {Check} check @param {number} most @returns {Check} */
const listOf = (check, most) => (value) => Array.isArray(value) && value.length <= most && value.every(check);

const MOST_QUESTIONS = 100;

/** @type {Check} */
const areWords = shaped({
  title: isName,
  how: isNote,
  stop: orNull(isNote),
  band_text: orNull(isNote),
  close_valve_text: orNull(isNote),
  next: orNull(isNote),
  from_text: orNull(isNote),
  questions: listOf(isNote, MOST_QUESTIONS),
});

/** @type {Check} */
const looksLikeStep = shaped({
  key: isName,
  kind: oneOf("confirm", "weigh", "temperature", "timer"),
  safety: isFlag,
  title: isName,
  how: isNote,
  stop: orNull(isNote),
  pour: orNull(isName),
  lot: orNull(isName),
  scale: orNull(isName),
  unit: orNull(isUnit),
  decimals: orNull(isDecimals),
  division: orNull(isSize),
  most: orNull(isSize),
  target: orNull(isCount),
  low: orNull(isCount),
  high: orNull(isCount),
  target_text: orNull(isNote),
  band_text: orNull(isNote),
  gross_text: orNull(isNote),
  close_valve: orNull(isCount),
  close_valve_text: orNull(isNote),
  fine: orNull(shaped({ scale: isName, unit: isUnit, decimals: isDecimals, division: isSize, from_text: isNote })),
  twice: isFlag,
  questions: listOf(shaped({ code: isName, low: isCount, high: isCount, text: isNote }), MOST_QUESTIONS),
  seconds: orNull(isSize),
  next: orNull(isNote),
  es: areWords,
}, ["es", "most"]); // Sheets issued before there was Spanish, or the most a scale carries, have none.

/** What may be null in some steps, but not in one of this kind. @type {Record<Step["kind"], (keyof Step)[]>} */
const NEEDED = {
  confirm: [],
  temperature: ["unit", "decimals"],
  timer: ["seconds"],
  weigh: ["unit", "decimals", "division", "target", "low", "high"],
};

/** @param {unknown} step @returns {step is Step} */
const isStep = (step) =>
  looksLikeStep(step) && isWhole(/** @type {Step} */ (step));

/** @param {Step} step */
const isWhole = (step) =>
  NEEDED[step.kind].every((key) => step[key] !== null) && (step.es?.questions ?? step.questions).length === step.questions.length;

export const areSteps = listOf(isStep, MOST_STEPS);

/** @type {Record<string, Check>} */
const CHECKS = {
  person: isName,
  step: isName,
  reading: isReading,
  unit: isUnit,
  lot: orNull(isName),
  asked: shaped({ target: isCount, low: isCount, high: isCount, decimals: isDecimals, unit: isUnit, division: isSize }),
  question: orNull(isName),
  mode: oneOf("net", "gross"),
  action: oneOf("started", "ended"),
  seconds: isSize,
  note: isNote,
  corrects: (value) => isText(value, 64),
  reason: orNull(isNote),
  choice: isName,
  text: isNote,
  steps: areSteps,
  replaced: (value) => isObject(value) && Object.entries(value).every(([key, step]) => isStep(step) && step.key === key),
  outcome: oneOf("poured", "quarantined"),
  record: orNull(isObject),
  html: (value) => typeof value === "string",
  helper: orNull(isName),
  until: isDay,
  stopped: isName,
  daily: oneOf("held", "missing"),
  took_over: (value) => value === true,
  eyewash: (value) =>
    isObject(value) && sameKeys(value, ["weekly", "yearly"].filter((key) => key in value)) && Object.values(value).every(oneOf("never", "faulty", "over")),
  lots: (value) => isObject(value) && Object.values(value).every(isName),
};

/** What an event of the kind can't do without. @type {Record<BlockKind, string[]>} */
const MUST = {
  weighed: ["person", "step", "reading", "unit", "asked", "mode"],
  checked: ["person", "step"],
  timed: ["person", "step", "action", "seconds"],
  corrected: ["person", "corrects", "reading", "unit", "reason"],
  decided: ["person", "step", "choice", "reason", "steps", "replaced"],
  closed: ["person", "outcome"],
  lots: ["person", "lots"],
  trained: ["person", "helper", "reason"],
};

const BLOCK = /^block:.+\/[1-9]\d{0,2}$/u;

/** For events of the kinds of `MUST`; which keys they may have at all is not looked at here. @param {Record<string, unknown>} event */
export function isBlockEvent(event) {
  return (
    BLOCK.test(String(event.subject)) &&
    MUST[/** @type {BlockKind} */ (event.kind)].every((key) => event[key] !== undefined) &&
    Object.entries(CHECKS).every(([key, check]) => event[key] === undefined || check(event[key]))
  );
}
