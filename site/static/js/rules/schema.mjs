import SHAPES from "../../../../shared/records/shapes.json" with { type: "json" };
import { isDay } from "./eyewash.mjs";
import { GROUPS } from "./kinds.mjs";
import { isObject } from "./shape.mjs";

/**
 * What events must look like, before a copy from outside is taken in.
 *
 * Shapes are written in the words of JSON Schema (draft 2020-12), but only those in `KEYWORDS`. A text in the place of a
 * schema names another shape; with "?" at its end it may be null too. What stands under "copy" is asked here as well. What
 * stands under "scale" is asked by Python, before a block from the store is weighed (calc/block/declared.py).
 */

/** @typedef {(value: any) => boolean} Check */
/** @typedef {string | {[keyword: string]: any}} Shape */

/** @type {Record<string, Check>} */
const TYPES = {
  string: (value) => typeof value === "string",
  boolean: (value) => typeof value === "boolean",
  number: (value) => typeof value === "number" && Number.isFinite(value),
  integer: (value) => Number.isSafeInteger(value),
  array: Array.isArray,
  object: isObject,
};

/** Relations between two parts of a value, which no keyword can state. @type {Record<string, Check>} */
const FORMATS = {
  date: isDay,
  "by-own-key": (steps) => Object.entries(steps).every(([key, step]) => step.key === key),
  "questions-in-each-language": ({ questions, es }) => es === undefined || es.questions.length === questions.length,
};

/** Asked in this order: a later one may rely on those before it. @type {Record<string, (said: any, shape: Record<string, any>) => Check>} */
const KEYWORDS = {
  $comment: () => () => true,
  type: (type) => known(TYPES, type),
  enum: (values) => (value) => values.includes(value),
  minimum: (least) => (value) => value >= least,
  maximum: (most) => (value) => value <= most,
  minLength: (least) => (value) => value.length >= least,
  maxLength: (most) => (value) => value.length <= most,
  pattern: (pattern) => {
    const form = new RegExp(pattern, "u");
    return (value) => form.test(value);
  },
  minItems: (least) => (value) => value.length >= least,
  maxItems: (most) => (value) => value.length <= most,
  items: (shape) => {
    const check = checkOf(shape);
    return (value) => value.every(check);
  },
  prefixItems: (shapes) => {
    const checks = shapes.map(checkOf);
    return (value) => value.every((/** @type {unknown} */ held, /** @type {number} */ n) => !checks[n] || checks[n](held));
  },
  required: (keys) => (value) => keys.every((/** @type {string} */ key) => Object.hasOwn(value, key)),
  minProperties: (least) => (value) => Object.keys(value).length >= least,
  propertyNames: (shape) => {
    const check = checkOf(shape);
    return (value) => Object.keys(value).every(check);
  },
  properties: (shapes) => {
    const checks = Object.entries(shapes).map(([key, shape]) => /** @type {const} */ ([key, checkOf(shape)]));
    return (value) => checks.every(([key, check]) => !Object.hasOwn(value, key) || check(value[key]));
  },
  additionalProperties: (shape, { properties = {} }) => {
    const check = shape === false ? () => false : checkOf(shape);
    return (value) => Object.entries(value).every(([key, held]) => Object.hasOwn(properties, key) || check(held));
  },
  anyOf: (shapes) => {
    const checks = shapes.map(checkOf);
    return (value) => checks.some((/** @type {Check} */ check) => check(value));
  },
  format: (format) => known(FORMATS, format),
};

/** @template T @param {Record<string, T>} table @param {string} name @returns {T} */
function known(table, name) {
  const found = Object.hasOwn(table, name) ? table[name] : undefined;
  if (found === undefined) throw new Error(`the declaration of records says "${name}", which nobody knows`);
  return found;
}

/** @param {Shape} shape @returns {Check} */
function checkOf(shape) {
  if (typeof shape === "string") {
    const check = named(shape.replace(/\?$/, ""));
    return shape.endsWith("?") ? (value) => value === null || check(value) : check;
  }
  const { copy = {}, scale: _asked_by_python, ...common } = shape;
  const whole = {
    ...common,
    ...copy,
    ...joined(common.required, copy.required, (one, other) => ({ required: [...one, ...other] })),
    ...joined(common.properties, copy.properties, (one, other) => ({ properties: { ...one, ...other } })),
  };
  for (const keyword of Object.keys(whole)) known(KEYWORDS, keyword);
  const checks = Object.entries(KEYWORDS).flatMap(([keyword, made]) => (keyword in whole ? [made(whole[keyword], whole)] : []));
  return (value) => checks.every((check) => check(value));
}

/** @param {any} one @param {any} other @param {(one: any, other: any) => object} both */
const joined = (one, other, both) => (one && other ? both(one, other) : {});

/** @type {Map<string, Check>} */
const made = new Map();

/** @param {string} name @returns {Check} */
function named(name) {
  const check = made.get(name) ?? checkOf(known(/** @type {Record<string, Shape>} */ (SHAPES), name));
  made.set(name, check);
  return check;
}

/** The fields that every event has; `store/fits.mjs` looks at them. */
export const COMMON = ["id", "at", "local", "kind", "subject"];
/** Which phone it was stored on, where that one was paired with a shop server. */
const MAY = ["device"];

/**
 * @typedef {object} Form  What events of one kind look like.
 * @property {RegExp} subject
 * @property {((event: Record<string, unknown>) => boolean) | null} named  whether the subject is made of the field that it names
 * @property {Map<string, Check>} fields
 * @property {Record<string, string>} shapes
 * @property {string[]} must
 */

/** @type {Map<string, Form>} */
const FORMS = new Map(
  GROUPS.flatMap(({ begins, goes_on, named_by, kinds }) => {
    const subject = new RegExp(`^(?:${begins.join("|")}):(?:${goes_on})$`, "u");
    return Object.entries(kinds).map(([kind, { must, may }]) => {
      const shapes = { ...Object.fromEntries([...COMMON, ...MAY].map((field) => [field, "text"])), ...must, ...may };
      const fields = new Map(Object.entries(shapes).map(([field, shape]) => [field, checkOf(shape)]));
      const named = named_by === undefined ? null : (/** @type {Record<string, unknown>} */ event) => event.subject === `${begins[0]}:${event[named_by]}`;
      return /** @type {const} */ ([kind, { subject, named, fields, shapes, must: Object.keys(must) }]);
    });
  }),
);

/** @typedef {{field: string, length?: number, most?: number}} Misfit  A field that isn't as declared; of a text that is too long also how long it may be. */

/** The first part of an event that isn't as its kind is declared, null where all is. @param {Record<string, unknown>} event @returns {Misfit | null} */
export function misfitOf(event) {
  const form = FORMS.get(String(event.kind));
  if (!form) return { field: "kind" };
  if (!form.subject.test(String(event.subject)) || form.named?.(event) === false) return { field: "subject" };
  const missing = form.must.find((field) => !Object.hasOwn(event, field));
  if (missing !== undefined) return { field: missing };
  for (const [field, value] of Object.entries(event)) {
    if (!form.fields.get(field)?.(value)) return { field, ...tooLong(form.shapes[field], value) };
  }
  return null;
}

/** Whether an event has the form that its kind is declared with; false where there is no such kind. @param {Record<string, unknown>} event */
export const isAsDeclared = (event) => misfitOf(event) === null;

/** Of a text, or of texts by their names, how long the one is that is too long. @param {Shape | undefined} shape @param {unknown} value @returns {{length: number, most: number} | null} */
function tooLong(shape, value) {
  if (typeof shape !== "string") return null;
  const { copy, ...common } = /** @type {Record<string, any>} */ (SHAPES)[shape.replace(/\?$/, "")] ?? {};
  const { maxLength: most = Infinity, additionalProperties: each } = { ...common, ...copy };
  if (typeof value === "string") return value.length > most ? { length: value.length, most } : null;
  if (!isObject(value)) return null;
  for (const held of Object.values(value)) {
    const found = tooLong(each, held);
    if (found) return found;
  }
  return null;
}
