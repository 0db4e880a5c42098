/** What came and what is here, told as their forms tell it: fields by their labels, choices and oils by their words. */

import { app } from "../frame/app.mjs";
import { fieldWords, named } from "../records/copy_preview.mjs";

/** @import { Item, TarewellEvent } from "../rules/types.mjs" */
/** @import { Changed } from "../rules/replacing.mjs" */

/** How forms name an item of these kinds; what it is called, of those that came and those that are here. */
const NAMED_BY = { own_oil: "own:", scent_lot: "lot:", scent: "" };
/** @type {Map<string, string>} */
let items = new Map();

/** Learns what the items are called. @param {TarewellEvent[]} came */
export function knowItems(came) {
  const here = Object.entries(NAMED_BY).flatMap(([kind, begins]) =>
    (app.state[kind] ?? []).map((/** @type {Item} */ { id, values }) => /** @type {const} */ ([begins + id, values.name || values.code || id])));
  const there = came.flatMap(({ subject, values = {} }) => {
    const [kind = "", id = ""] = subject.split(":");
    return kind in NAMED_BY ? [/** @type {const} */ ([NAMED_BY[/** @type {keyof typeof NAMED_BY} */ (kind)] + id, values.name || values.code || id])] : [];
  });
  items = new Map([...here, ...there]);
}

const NOTHING = "–";

/** A field as it is declared, whichever row it stands in: "formula.oils.oil". @param {string} kind @param {string} field */
const declared = (kind, field) => [kind, ...field.split(".").filter((part) => !/^\d+$/.test(part))].join(".");

/** @typedef {{field: string, label: string, before: string, after: string}} Line */

/**
 * What differs, in the order of the form; the parts of one row on one line, as a person tells them: "Olive oil, 45 %".
 *
 * @param {string} kind @param {Changed[]} fields @param {Record<string, string>} before @param {Record<string, string>} after
 * @returns {Line[]}
 */
export function lines(kind, fields, before, after) {
  /** @type {Map<string, Line>} */
  const found = new Map();
  const names = /** @type {HTMLTemplateElement} */ (document.getElementById("field-names"));
  const order = [...names.content.querySelectorAll("[data-named]")].map((each) => each.getAttribute("data-named"));
  const place = (/** @type {string} */ field) => order.indexOf(declared(kind, field));
  const told = (/** @type {string} */ row, /** @type {Record<string, string>} */ values) =>
    Object.keys(values)
      .filter((key) => key.startsWith(row) && !key.endsWith(".unit") && values[key] !== "")
      .sort((a, b) => place(a) - place(b))
      .map((key) => valueWords(kind, key, [values[key], values[`${key}.unit`]].filter(Boolean).join(" ")))
      .join(", ") || NOTHING;
  for (const { field, before: one, after: other } of [...fields].sort((a, b) => place(a.field) - place(b.field))) {
    const [name = "", row, part] = field.split(".");
    if (part === undefined) found.set(field, { field, label: fieldWords(kind, field), before: valueWords(kind, field, one), after: valueWords(kind, field, other) });
    else found.set(`${name}.${row}`, { field, label: `${named(`${kind}.${name}`)} ${Number(row) + 1}`, before: told(`${name}.${row}.`, before), after: told(`${name}.${row}.`, after) });
  }
  return [...found.values()];
}

/** What stands in a field, as its form shows it. @param {string} kind @param {string} field @param {string} text */
function valueWords(kind, field, text) {
  const names = /** @type {HTMLTemplateElement} */ (document.getElementById("value-names")).content;
  const called = (/** @type {string} */ key) => names.querySelector(`[data-named="${CSS.escape(key)}"]`)?.textContent;
  const key = declared(kind, field);
  if (text === "") return NOTHING;
  const about = called(key) ?? "";
  return called(`${key}=${text}`) ?? items.get(text) ?? about.split(" ").map((of) => called(`${of}=${text}`)).find(Boolean) ?? (about && /^[\d.,\s]+$/.test(text) ? `${text} ${about}` : text);
}
