import { foldWorkshop, inOrder } from "./fold.mjs";
import { ITEM_KINDS } from "./kinds.mjs";

/** @import { Item, TarewellEvent, Values } from "./types.mjs" */

/**
 * @typedef {{field: string, before: string, after: string}} Changed    Texts as they stand in the form, with their units.
 * @typedef {object} Replaced   One stored item that would change.
 * @property {string} kind
 * @property {string} name      as it is called today
 * @property {boolean} removed
 * @property {Changed[]} fields
 */

/** First comes what does most harm when it changes unseen. */
const FIRST = ["formula", "safety", "scale", "floor", "vessel", "mould", "alkali_lot", "oil_lot", "own_oil"];
const RANK = new Map([...FIRST, ...ITEM_KINDS.filter((kind) => !FIRST.includes(kind))].map((kind, place) => [kind, place]));

/**
 * What adding events would change in items that are stored already; new items are no change. Pure.
 *
 * @param {TarewellEvent[]} stored @param {TarewellEvent[]} added
 * @returns {Replaced[]}
 */
export function replacedBy(stored, added) {
  const [before, after] = [foldWorkshop({}, stored), foldWorkshop({}, inOrder([...stored, ...added]))];
  const units = before.units === after.units || stored.length === 0 ? [] : [settings(before.units, after.units)];
  const items = ITEM_KINDS.flatMap((kind) => {
    const later = new Map((after[kind] ?? []).map((/** @type {Item} */ item) => [item.id, item.values]));
    return (before[kind] ?? []).flatMap((/** @type {Item} */ { id, values }) => replaced(kind, id, values, later.get(id)));
  });
  return [...units, ...items.sort((a, b) => Number(RANK.get(a.kind)) - Number(RANK.get(b.kind)))];
}

/** @param {string | undefined} before @param {string | undefined} after @returns {Replaced} */
const settings = (before = "", after = "") => ({ kind: "settings", name: "", removed: false, fields: [{ field: "units", before, after }] });

/** @param {string} kind @param {string} id @param {Values} before @param {Values | undefined} after @returns {Replaced[]} */
function replaced(kind, id, before, after) {
  const name = before.name || before.code || id;
  if (!after) return [{ kind, name, removed: true, fields: [] }];
  const fields = differences(before, after);
  return fields.length === 0 ? [] : [{ kind, name, removed: false, fields }];
}

/** The fields in which two forms differ, each text with its unit. @param {Values} before @param {Values} after @returns {Changed[]} */
export function differences(before, after) {
  const keys = [...new Set([...Object.keys(before), ...Object.keys(after)])].filter((key) => !key.endsWith(".unit"));
  return keys
    .map((field) => ({ field, before: withUnit(before, field), after: withUnit(after, field) }))
    .filter((changed) => changed.before !== changed.after);
}

/** @param {Values} values @param {string} field */
function withUnit(values, field) {
  const [text = "", unit = ""] = [values[field], values[`${field}.unit`]];
  return text === "" || unit === "" ? text : `${text} ${unit}`;
}
