/**
 * Fields of a form that an answer fills as long as nobody has: `data-proposes` names them. What stands there by proposal is
 * nobody's typing: it is asked anew with each answer, and follows it.
 */

/** @import { Values } from "../rules/types.mjs" */

/** @param {Element} control */
export const isProposed = (control) =>
  control instanceof HTMLInputElement && control.dataset.proposed !== undefined && control.value === control.dataset.proposed;

/** @param {HTMLFormElement} form @returns {HTMLInputElement[]} */
const proposable = (form) =>
  (form.dataset.proposes?.split(" ") ?? []).map((name) => form.elements.namedItem(name)).filter((control) => control instanceof HTMLInputElement);

/** Puts in what is proposed, but not under the fingers of somebody who is at that field. @param {HTMLFormElement} form @param {Values} puts */
export function propose(form, puts) {
  for (const control of proposable(form)) {
    if (control === document.activeElement || !(control.value.trim() === "" || isProposed(control))) continue;
    control.value = control.dataset.proposed = puts[control.name] ?? "";
  }
}

/** What an answer proposes for the fields that were not typed in. @param {HTMLFormElement} form @param {Values} puts @returns {Values} */
export const proposals = (form, puts) =>
  Object.fromEntries(proposable(form).flatMap(({ name }) => (puts[name] === undefined ? [] : [[name, puts[name]]])));

/** Whoever comes to a proposed field types over it. @param {HTMLFormElement} form */
export function watchProposed(form) {
  for (const control of proposable(form)) control.addEventListener("focus", () => isProposed(control) && control.select());
}
