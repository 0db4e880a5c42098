/** What was chosen in a form last, for the next time: `data-remembers` names its controls. It stands in the records' own database, so each mode has its own. */

import { findItem } from "../frame/app.mjs";
import { loadDraft, storeDraft } from "../store/drafts.mjs";

/** @import { Values } from "../rules/types.mjs" */

/** @param {HTMLFormElement} form */
const key = ({ dataset }) => `${dataset.draft ?? dataset.task}:last`;

/** @param {HTMLFormElement} form */
const remembered = ({ dataset }) => dataset.remembers?.split(" ") ?? [];

/** Those of the last choices that there still are. @param {HTMLFormElement} form @returns {Promise<Values>} */
export async function lastChoices(form) {
  if (remembered(form).length === 0) return {};
  const { values = {} } = (await loadDraft(key(form)).catch(() => undefined)) ?? {};
  return Object.fromEntries(remembered(form).flatMap((name) => (values[name] && isThere(form, name, values[name]) ? [[name, values[name]]] : [])));
}

/** @param {HTMLFormElement} form @param {string} name @param {string} value */
function isThere(form, name, value) {
  const control = form.elements.namedItem(name);
  if (!(control instanceof HTMLSelectElement) || control.dataset.items === undefined) return control !== null;
  return control.dataset.items.split(" ").some((kind) => findItem(kind, value));
}

/** A choice that can't be kept is only made again. @param {HTMLFormElement} form @param {Values} values */
export async function keepChoices(form, values) {
  const names = remembered(form).filter((name) => values[name]);
  if (names.length > 0) await storeDraft(key(form), Object.fromEntries(names.map((name) => [name, values[name] ?? ""])), null).catch(() => {});
}
