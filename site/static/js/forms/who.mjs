/** Who does it: the workshop's people stand beside the field as keys, and whoever is at the scale today stands in it. */

import { people, personToday } from "../frame/people.mjs";

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
  const person = await personToday();
  for (const place of places()) {
    const field = fieldOf(place);
    if (field && field.value === "") field.value = person;
  }
}
