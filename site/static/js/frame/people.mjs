import { dayOn } from "../store/clock.mjs";
import { loadDraft, storeDraft } from "../store/drafts.mjs";
import { app } from "./app.mjs";
import { notice } from "./notice.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** Who is at the scale: asked once a day, kept on this device. */
const KEY = "scale:person";

/** @returns {Promise<string>} "" when nobody has said so today. */
export async function personToday() {
  const stored = await loadDraft(KEY).catch(() => undefined);
  return stored?.values.day === dayOn() ? (stored.values.person ?? "") : "";
}

/**
 * Who does what a button beside a form does: as typed there, else as told today; asked for where neither says so.
 *
 * @param {string} [otherwise] Who stands for them where a page asks nobody who they are. @returns {Promise<string>}
 */
export async function personHere(otherwise = "") {
  const field = document.querySelector('input[name="person"]');
  const typed = field instanceof HTMLInputElement ? field.value.trim() : "";
  const person = typed || (await personToday()) || otherwise;
  if (!person) {
    if (field instanceof HTMLInputElement) field.focus();
    notice("person-first");
  }
  return person;
}

/** @param {string} person */
export const rememberPerson = (person) => storeDraft(KEY, { person, day: dayOn() }, null);

/** The workshop's people by name. @returns {string[]} */
export const people = () => (app.state.person ?? []).map((/** @type {Item} */ item) => item.values.name ?? "").filter(Boolean);
