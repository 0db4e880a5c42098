import { findItem } from "../frame/app.mjs";
import { filledBack } from "./asked_back.mjs";
import { isProposed } from "./proposed.mjs";
import { rowSets, setRows } from "./rows.mjs";
import { choose } from "./selects.mjs";
import { follows, lead, rowsStand, textsOf } from "./written_rows.mjs";

/** @import { Values } from "../rules/types.mjs" */
/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Control */

/** @param {HTMLFormElement} form @returns {Control[]} */
export const controls = (form) =>
  [...form.elements].filter(
    /** @returns {element is Control} */
    (element) =>
      (element instanceof HTMLInputElement ||
        element instanceof HTMLSelectElement ||
        element instanceof HTMLTextAreaElement) &&
      element.name !== "",
  );

/** @param {Control} control */
const isTick = (control) => control instanceof HTMLInputElement && (control.type === "radio" || control.type === "checkbox");

/** @param {Control} control */
const isOff = (control) => isTick(control) && !(/** @type {HTMLInputElement} */ (control).checked);

/**
 * What stands in the form, flat. Fields that don't apply are left out; a draft keeps them. A text that only follows from rows is never
 * among them, and nothing that is only proposed.
 *
 * @param {HTMLFormElement} form
 * @param {{all?: boolean}} [options]
 * @returns {Values}
 */
export function collect(form, { all = false } = {}) {
  const typed = controls(form).filter((control) => !isOff(control) && !follows(control) && !isProposed(control));
  const kept = typed.filter((control) => all || !control.closest("[data-when][hidden]"));
  return Object.fromEntries(kept.map((control) => [control.name, control.value]));
}

/** What a blank form begins with. @param {HTMLFormElement} form @param {string} units "metric" or "us" @returns {Values} */
export const startOf = ({ dataset }, units) => ({ ...JSON.parse(dataset.start ?? "{}"), ...(units === "us" ? JSON.parse(dataset.startUs ?? "{}") : {}) });

/**
 * What was built into the form, where that is in other units than those chosen: so that nobody is asked in one and told in the other.
 *
 * @param {HTMLFormElement} form @param {string} units "metric" or "us" @returns {Values | undefined}
 */
export const builtIn = (form, units) => (units === "us" && form.dataset.builtUs ? { ...collect(form, { all: true }), ...JSON.parse(form.dataset.builtUs) } : undefined);

/**
 * Puts values into the form, rows included; what they do not name becomes blank.
 *
 * @param {HTMLFormElement} form
 * @param {Values} values
 * @param {string} units "metric" or "us": for the units of fields without a value
 * @param {() => void} [rowsMade] Called when the rows stand, before they are filled.
 */
export function fill(form, values, units, rowsMade = () => {}) {
  // A text of rows stays where they do: it would else be blank until it is written anew.
  const standing = Object.fromEntries(textsOf(form).map((text) => [text.name, rowsStand(text, values) ? text.value : ""]));
  for (const set of rowSets(form)) {
    const prefix = `${set.dataset.rows}.`;
    const names = Object.keys(values).filter((name) => name.startsWith(prefix));
    const indices = new Set(names.map((name) => Number(name.slice(prefix.length).split(".")[0])));
    setRows(set, [...indices].sort((a, b) => a - b));
  }
  rowsMade();
  for (const text of textsOf(form)) lead(text, text.name in values);
  for (const control of controls(form)) {
    const value = values[control.name];
    if (isTick(control)) /** @type {HTMLInputElement} */ (control).checked = control.value === value;
    else if (control instanceof HTMLSelectElement) choose(control, value ?? "");
    else setText(control, value ?? standing[control.name] ?? "");
  }
  followUnits(form, units, values);
  applyWhen(form);
  filledBack(form);
}

/**
 * Sets a text only where it differs, and keeps what was selected. Whoever has just selected all of a field to type over it
 * would otherwise type behind it.
 *
 * @param {HTMLInputElement | HTMLTextAreaElement} control @param {string} text
 */
function setText(control, text) {
  if (control.value === text) return;
  const all = control === document.activeElement && control.selectionStart === 0 && control.selectionEnd === control.value.length;
  control.value = text;
  if (all) control.select();
}

/**
 * Sets the unit of empty fields to the chosen system's; a unit beside a number is the user's and stays.
 *
 * @param {HTMLFormElement} form
 * @param {string} units
 * @param {Values} [fixed] Units that were chosen and stored, even beside an empty field.
 * @param {Element} [part] Only in this part of the form.
 */
export function followUnits(form, units, fixed = {}, part = form) {
  for (const control of controls(form)) {
    const unit = control.dataset[units === "us" ? "us" : "metric"];
    if (!unit || !control.name.endsWith(".unit") || fixed[control.name] || !part.contains(control)) continue;
    const number = form.elements.namedItem(control.name.slice(0, -".unit".length));
    if (!(number instanceof HTMLInputElement) || number.value.trim() !== "") continue;
    control.value = unit;
    leadUnits(form, control, true);
  }
}

/**
 * The unit chosen here is that of others too (a scale shows one): of their choices, and of their numbers that are not there
 * yet; a number in another unit would be another amount.
 *
 * @param {HTMLFormElement} form
 * @param {Element} leader
 * @param {boolean} [choicesOnly] Leave the units beside numbers alone.
 */
export function leadUnits(form, leader, choicesOnly = false) {
  if (!(leader instanceof HTMLSelectElement)) return;
  for (const name of leader.dataset.leads?.split(" ") ?? []) {
    const led = form.elements.namedItem(name);
    const number = name.endsWith(".unit") ? form.elements.namedItem(name.slice(0, -".unit".length)) : null;
    if (!(led instanceof HTMLSelectElement) || ![...led.options].some(({ value }) => value === leader.value)) continue;
    if (number instanceof HTMLInputElement ? !choicesOnly && number.value.trim() === "" : !number) led.value = leader.value;
  }
}

/** The value of a choice, by name. @param {HTMLFormElement} form @param {string} name */
function chosen(form, name) {
  const found = form.elements.namedItem(name);
  if (found instanceof RadioNodeList) return found.value;
  if (!(found instanceof HTMLInputElement || found instanceof HTMLSelectElement)) return "";
  return isOff(found) || found.closest("[data-when][hidden]") ? "" : found.value;
}

/** Hides the fields that do not apply; their text stays. @param {HTMLFormElement} form */
export function applyWhen(form) {
  for (const part of form.querySelectorAll(/** @type {"div"} */ ("[data-when]"))) {
    const [sibling = "", wanted = ""] = (part.dataset.when ?? "").split("=");
    const field = part.dataset.field ?? "";
    const prefix = field.slice(0, field.lastIndexOf(".") + 1);
    const [named = "", of = ""] = sibling.split(".");
    const value = of === "" ? chosen(form, prefix + named) : (findItem(named, chosen(form, named))?.values[of] ?? "");
    part.hidden = !wanted.split("|").includes(value);
  }
}

/**
 * What was typed before the scripts had loaded. It must survive the restoring of a draft.
 *
 * @param {HTMLFormElement} form
 * @returns {Values}
 */
export function typedEarly(form) {
  const typed = controls(form).filter(
    (control) => !(control instanceof HTMLSelectElement) && !isTick(control) && control.value !== control.defaultValue,
  );
  return Object.fromEntries(typed.map((control) => [control.name, control.value]));
}

/**
 * Rows that were added before the scripts had loaded, even blank ones.
 *
 * @param {HTMLFormElement} form
 * @returns {Values}
 */
export function rowsEarly(form) {
  const added = controls(form).filter((control) => control.closest("[data-by-hand]"));
  return Object.fromEntries(added.map((control) => [control.name, control instanceof HTMLSelectElement ? "" : control.value]));
}
