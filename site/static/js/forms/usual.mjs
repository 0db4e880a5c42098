import { applyWhen } from "./forms.mjs";

/** Common answers: keys that put what they say into the form they stand in. */

/** @param {HTMLFormElement} form @returns {HTMLButtonElement[]} */
const keysOf = (form) => [...form.querySelectorAll(/** @type {"button"} */ ("[data-usual]"))];

/** @param {HTMLElement} key @returns {[string, string][]} */
const valuesOf = (key) => Object.entries(JSON.parse(key.dataset.usual ?? "{}"));

/** @param {HTMLFormElement} form @param {string} name @returns {string | undefined} */
function standing(form, name) {
  const control = form.elements.namedItem(name);
  return control instanceof HTMLInputElement || control instanceof HTMLSelectElement ? control.value : undefined;
}

/** Marks the keys whose answer stands in the form. @param {HTMLFormElement} form */
export function tapped(form) {
  for (const key of keysOf(form)) {
    key.setAttribute("aria-pressed", String(valuesOf(key).every(([name, value]) => standing(form, name) === value)));
  }
}

/** @param {HTMLFormElement} form */
export function watchUsual(form) {
  let filling = false;
  form.addEventListener("click", (event) => {
    const key = event.target instanceof Element ? event.target.closest(/** @type {"button"} */ ("[data-usual]")) : null;
    if (!key) return;
    for (const [name, value] of valuesOf(key)) {
      const control = form.elements.namedItem(name);
      if (control instanceof HTMLInputElement || control instanceof HTMLSelectElement) control.value = value;
    }
    applyWhen(form);
    filling = true;
    key.dispatchEvent(new Event("input", { bubbles: true }));
    filling = false;
  });
  form.addEventListener("input", ({ target }) => {
    const figures = form.elements.namedItem("figures");
    // What somebody types is no stand-in any more.
    if (!filling && target instanceof HTMLInputElement && target.closest(".typed") && figures instanceof HTMLSelectElement) figures.value = "known";
    tapped(form);
  });
}
