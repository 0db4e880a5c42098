/** An event of each kind that is declared, made of the declaration by its keywords alone: shared/records, in the words of JSON Schema. */
import { readFileSync } from "node:fs";

const read = (name) => JSON.parse(readFileSync(new URL(`../../shared/records/${name}.json`, import.meta.url), "utf-8"));
export const KINDS = read("kinds");
const SHAPES = read("shapes");

/** What fits a pattern is chosen from these: one of them must. */
const TEXTS = ["a", "16.34", "2026-12-01", "2026-12-01T07:30", "M1 1L2 2", "shop", "workshop", "weekly", "QM/1", "t-lye.20261201070500", "stock/x"];
const fitting = (pattern) => {
  const found = TEXTS.find((text) => new RegExp(pattern, "u").test(text));
  if (found === undefined) throw new Error(`no text here fits ${pattern}`);
  return found;
};

/** All that is asked of a shape in a copy. */
export function wholeShape(shape) {
  const given = typeof shape === "string" ? SHAPES[shape.replace(/\?$/, "")] : shape;
  const { copy = {}, scale: _not_of_copies, ...common } = given;
  return {
    ...common, ...copy,
    required: [...(common.required ?? []), ...(copy.required ?? [])],
    properties: { ...common.properties, ...copy.properties },
  };
}

/** Something that has a shape, with every part that may be there. */
export function sample(shape) {
  const asked = wholeShape(shape);
  const { type, properties, additionalProperties: each } = asked;
  if (asked.enum) return asked.enum[0];
  if (type === undefined) return sample(asked.anyOf[0]);
  if (type === "string") return asked.format === "date" ? "2026-12-01" : asked.pattern ? fitting(asked.pattern) : "a";
  if (type === "boolean") return true;
  if (type === "number" || type === "integer") return Math.max(1, asked.minimum ?? 1);
  if (type === "array") {
    const n = Math.max(1, asked.minItems ?? 0);
    return Array.from({ length: n }, (_, at) => (asked.prefixItems?.[at] ?? asked.items) === undefined ? "a" : sample(asked.prefixItems?.[at] ?? asked.items));
  }
  const thing = Object.fromEntries(Object.entries(properties).map(([key, held]) => [key, sample(held)]));
  if (asked.format === "by-own-key") {
    const held = sample(each);
    return { [held.key]: held };
  }
  return typeof each === "string" ? { ...thing, a: sample(each) } : thing;
}

/** @typedef {{kind: string, subject: string, declared: {must: object, may: object}, fields: any}} Sample */

/**
 * An event of one kind, with every field that it must or may have.
 *
 * @param {string} kind @param {string} code Of the batch that it is about, if it is about one. @returns {Sample}
 */
export function ofKind(kind, code) {
  const { begins, goes_on, named_by, kinds } = Object.values(KINDS).find((group) => kind in group.kinds);
  const declared = kinds[kind];
  const fields = Object.fromEntries(Object.entries({ ...declared.must, ...declared.may }).map(([field, shape]) => [field, sample(shape)]));
  if (named_by) fields[named_by] = code;
  const rest = named_by ? code : [code, `${code}/1`, "aaaaaaaaaa", ...TEXTS].find((text) => new RegExp(`^(?:${goes_on})$`, "u").test(text));
  return { kind, subject: `${begins[0]}:${rest}`, declared, fields };
}

/** Every kind there is. */
export const EVERY_KIND = Object.values(KINDS).flatMap(({ kinds }) => Object.keys(kinds));
