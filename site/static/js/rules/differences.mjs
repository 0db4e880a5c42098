import { canonical } from "./canonical.mjs";
import { isObject } from "./shape.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** More of a text than this shows no more of the difference. [characters] */
const SHOWN = 120;

/** @typedef {{field: string, here: string, there: string}} Difference  "" where a version has no such field. */

/** In what two versions of a record differ, field by field; of things, part by part. @param {TarewellEvent} here @param {TarewellEvent} there @returns {Difference[]} */
export const differences = (here, there) => between("", here, there);

/** @param {string} field @param {unknown} here @param {unknown} there @returns {Difference[]} */
function between(field, here, there) {
  if (canonical(here) === canonical(there)) return [];
  if (isObject(here) && isObject(there)) {
    const keys = [...new Set([...Object.keys(here), ...Object.keys(there)])].sort();
    return keys.flatMap((key) => between(field === "" ? key : `${field}.${key}`, here[key], there[key]));
  }
  return [{ field, ...apart(said(here), said(there)) }];
}

/** @param {unknown} value */
const said = (value) => (value === undefined ? "" : typeof value === "string" ? value : canonical(value));

/** Two long texts from shortly before where they part. @param {string} here @param {string} there */
function apart(here, there) {
  let same = 0;
  while (same < here.length && here[same] === there[same]) same += 1;
  const from = Math.max(here.length, there.length) <= SHOWN ? 0 : Math.max(0, same - SHOWN / 4);
  const cut = (/** @type {string} */ text) => (from > 0 ? "…" : "") + text.slice(from, from + SHOWN) + (text.length > from + SHOWN ? "…" : "");
  return { here: cut(here), there: cut(there) };
}
