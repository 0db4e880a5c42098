/**
 * Rows that can also be typed as one text. Whichever was changed last leads: the text is asked about only while it leads, and
 * the other follows from the answer.
 */

import { rowSets, setRows } from "./rows.mjs";
import { choose } from "./selects.mjs";

/** @import { Values } from "../rules/types.mjs" */
/** @import { RowSet } from "./rows.mjs" */

/** @param {ParentNode} form @returns {HTMLTextAreaElement[]} */
export const textsOf = (form) => [...form.querySelectorAll(/** @type {"textarea"} */ ("textarea[data-writes]"))];

/** @param {Element} control */
export const follows = (control) => control.matches("[data-writes]:not([data-leads])");

/** @param {HTMLTextAreaElement} text @param {boolean} leads */
export const lead = (text, leads) => void text.toggleAttribute("data-leads", leads);

/** What was changed leads from now on. @param {HTMLFormElement} form @param {Element} changed */
export function leadBy(form, changed) {
  for (const text of textsOf(form)) {
    if (changed === text) lead(text, true);
    else if (changed.closest(`[data-rows="${text.dataset.writes}"]`)) lead(text, false);
  }
}

/**
 * The form's values with what follows from them: rows in place of the text that made them.
 *
 * @param {HTMLFormElement} form @param {Values} values @param {Values} puts
 * @returns {Values}
 */
export function withRows(form, values, puts) {
  const made = { ...values };
  for (const { name, dataset } of textsOf(form)) {
    if (!(name in made)) continue;
    for (const key of Object.keys(made)) if (key === name || key.startsWith(`${dataset.writes}.`)) delete made[key];
    for (const [key, value] of Object.entries(puts)) if (key.startsWith(`${dataset.writes}.`)) made[key] = value;
  }
  return made;
}

/**
 * Puts what follows into the form: the rows of a text that leads, the text of rows that do.
 *
 * @param {HTMLFormElement} form @param {Values} puts
 * @param {(rows: RowSet) => void} rowsMade Called when rows stand, before they are filled.
 */
export function follow(form, puts, rowsMade) {
  for (const text of textsOf(form)) {
    const set = rowSets(form).find(({ dataset }) => dataset.rows === text.dataset.writes);
    if (!text.hasAttribute("data-leads")) {
      const written = puts[text.name];
      if (written !== undefined && written !== text.value) text.value = written;
    } else if (set) {
      putRows(set, puts, rowsMade);
    }
  }
}

/** Without Python no text follows from the rows: they stand alone then. @param {HTMLFormElement} form */
export function rowsAlone(form) {
  for (const text of textsOf(form)) {
    const field = text.closest("[data-field]");
    if (text.value !== "" || !(field instanceof HTMLElement)) continue;
    field.hidden = true;
    form.querySelector(`[data-rows="${text.dataset.writes}"]`)?.closest("details")?.setAttribute("open", "");
  }
}

/** @param {RowSet} set @returns {HTMLInputElement[]} */
const controlsOf = (set) => [...set.querySelectorAll(/** @type {"input"} */ ("[data-row] [name]"))];

/** The numbers of a table's rows. @param {RowSet} set @param {string[]} names */
function numbers(set, names) {
  const own = names.filter((name) => name.startsWith(`${set.dataset.rows}.`));
  return [...new Set(own.map((name) => Number(name.split(".")[1])))];
}

/** @param {RowSet} set @param {Values} values */
function holds(set, values) {
  const there = controlsOf(set);
  const [here, wanted] = [there.map(({ name }) => name), Object.keys(values)].map((names) => numbers(set, names).join());
  return here === wanted && there.every(({ name, value }) => value === (values[name] ?? ""));
}

/** Whether the rows of a text stand in the form just as in these values. @param {HTMLTextAreaElement} text @param {Values} values */
export const rowsStand = (text, values) =>
  rowSets(/** @type {HTMLFormElement} */ (text.form)).some((set) => set.dataset.rows === text.dataset.writes && holds(set, values));

/** @param {RowSet} set @param {Values} puts @param {(rows: RowSet) => void} rowsMade */
function putRows(set, puts, rowsMade) {
  if (holds(set, puts)) return;
  setRows(set, numbers(set, Object.keys(puts)));
  rowsMade(set);
  for (const control of controlsOf(set)) {
    const value = puts[control.name] ?? "";
    if (control instanceof HTMLSelectElement) choose(control, value, false);
    else control.value = value;
  }
}
