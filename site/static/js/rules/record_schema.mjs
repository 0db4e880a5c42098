import { isObject, isText } from "./shape.mjs";

/** What saved items and issued sheets must look like, before a copy from outside is taken in. */

/** @typedef {(value: unknown) => boolean} Check */

/** The kinds of items a workshop is made of; `tests/site/test_item_kinds.py` holds them to Python's. */
export const ITEM_KINDS = [
  "shop", "mould", "cutter", "vessel", "scale", "floor", "safety", "alkali_lot", "oil_lot", "scent", "scent_lot", "own_oil",
  "person", "formula",
];

/** Ids are made of plain letters: one with markup or a slash in it comes from nobody's Tarewell. */
export const ID = /^[\w-]{1,64}$/;
const ITEM = new RegExp(`^(?:${ITEM_KINDS.join("|")}):[\\w-]{1,64}$`);
/** It begins with a prefix in the workshop's own words: whatever was issued must come back. */
const CODE = /^\P{Cc}{1,100}$/u;
/** A control's name: "name", "oils.0.oil", "height_mm.unit". */
const FIELD = /^[a-z][a-z0-9_]*(?:\.[a-z0-9][a-z0-9_]*)*$/;
const LONGEST_VALUE = 5000;

const SETTINGS = { units: ["metric", "us"] };

/** @param {unknown} values */
const areValues = (values) =>
  isObject(values) &&
  Object.entries(values).every(([key, text]) => FIELD.test(key) && typeof text === "string" && text.length <= LONGEST_VALUE);

/** @type {Check} */
const isNumber = (value) => typeof value === "number" && Number.isFinite(value);
/** @type {Check} */
const isNote = (value) => typeof value === "string" && value.length <= LONGEST_VALUE;
/** @param {Check} check @returns {Check} */
const orNothing = (check) => (value) => value === undefined || value === null || check(value);
/** @param {Check} check @returns {Check} */
const listOf = (check) => (value) => Array.isArray(value) && value.every(check);
/** At least these keys; what a later build adds beside them is no fault. @param {Record<string, Check>} checks @returns {Check} */
const having = (checks) => (value) => isObject(value) && Object.entries(checks).every(([key, check]) => check(value[key]));

/** What Python counts by when a block is put right at the pot: calc/record/issued.py writes it. @type {Check} */
const isChemistry = having({
  oils: listOf(having({ pour: isText, name: isText, used: isNumber, low: isNumber, high: isNumber, density_g_per_ml: isNumber })),
  alkalis: listOf(having({
    pour: isText,
    name: isText,
    alkali: (value) => value === "naoh" || value === "koh",
    hydroxide_fraction: isNumber,
    relative: listOf((value) => Array.isArray(value) && value.length === 2 && isText(value[0]) && isNumber(value[1])),
  })),
  acids: listOf(having({ pour: isText, name: isText, acid_value: isNumber, strength_fraction: isNumber })),
});

/** @type {Record<string, Check>} */
const ISSUED = {
  issued_by: orNothing(isNote),
  reason: orNothing(isNote),
  inputs: orNothing(isObject),
  rules_version: orNothing(isText),
  reference_digest: orNothing(isText),
  blocks: (value) => value === undefined || (Number.isInteger(value) && Number(value) >= 1 && Number(value) <= 999),
  mould: orNothing(having({ name: isText })),
  vessel: orNothing(having({ name: isText })),
  scales: orNothing(listOf(isObject)),
  pours: orNothing(listOf(having({ key: isText }))),
  oils: orNothing(listOf(having({ key: isText }))),
  scent: orNothing(isObject),
  batter_g: orNothing(isNumber),
  fill_height_mm: orNothing(isNumber),
  superfat: orNothing(having({ value: isNumber, low: isNumber, high: isNumber })),
  superfat_stated_fraction: orNothing(isNumber),
  cautions: orNothing(listOf(isObject)),
  chemistry: orNothing(isChemistry),
  formula: orNothing(having({ event: (value) => typeof value === "string", name: (value) => typeof value === "string" })),
};

/** @type {Record<string, (event: Record<string, unknown>) => boolean>} */
const SHAPES = {
  saved: ({ subject, values, revision }) =>
    ITEM.test(String(subject)) && areValues(values) && (revision === undefined || (Number.isInteger(revision) && Number(revision) > 0)),
  removed: ({ subject }) => ITEM.test(String(subject)),
  settings: ({ subject, values }) =>
    subject === "settings:shop" && isObject(values) && Object.keys(values).every((key) => key === "units") &&
    SETTINGS.units.includes(String(values.units)),
  demo_cleared: ({ subject }) => subject === "demo:workshop",
  issued: (event) =>
    typeof event.code === "string" && CODE.test(event.code) && event.subject === `batch:${event.code}` && typeof event.html === "string" &&
    Object.entries(ISSUED).every(([key, check]) => check(event[key])),
};

export const RECORD_KINDS = Object.keys(SHAPES);

/** For events of these kinds; which keys they may have at all is not looked at here. @param {Record<string, unknown>} event */
export const isRecordEvent = (event) => SHAPES[String(event.kind)]?.(event) === true;
