/**
 * Who does it: the workshop's people stand beside the field as keys, and in it whoever is at the scale today, else who did it
 * last, else the only person there is.
 */

import { people, personToday, rememberPerson } from "../frame/people.mjs";
import { lastChoices } from "./last_choices.mjs";

/** A few names are quicker to tap than to type; more of them would fill the screen. */
const MOST_KEYS = 4;

const places = () => [...document.querySelectorAll(/** @type {"div"} */ ("[data-people]"))];

/** @param {HTMLElement} place @returns {HTMLInputElement | null} */
const fieldOf = (place) => place.closest("form")?.querySelector(`input[name="${place.dataset.people}"]`) ?? null;

/** @param {HTMLElement} place @param {string} name */
function key(place, name) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = name;
  button.addEventListener("click", () => {
    const field = fieldOf(place);
    if (field) put(field, name);
  });
  return button;
}

/** As if it had been typed. @param {HTMLInputElement} field @param {string} name */
function put(field, name) {
  field.value = name;
  for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
}

export function offerPeople() {
  for (const place of places()) place.replaceChildren(...people().slice(0, MOST_KEYS).map((name) => key(place, name)));
}

/** Not as if typed: a name that nobody has chosen yet is no draft. */
export async function proposePerson() {
  const today = await personToday();
  for (const place of places()) {
    const field = fieldOf(place);
    const last = field?.form && (await lastChoices(field.form))[field.name];
    if (field && field.value === "") field.value = today || (people().includes(last ?? "") && last) || onlyPerson();
  }
}

const onlyPerson = () => (people().length === 1 ? (people()[0] ?? "") : "");

/** Where nobody else works, whoever issues a sheet to weigh it is who weighs: the scale need not ask. @param {string} person */
export async function goesToScale(person) {
  if (person !== "" && person === onlyPerson() && (await personToday()) === "") await rememberPerson(person).catch(() => {});
}
