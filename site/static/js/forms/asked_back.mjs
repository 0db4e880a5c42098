/** What was asked back and affirmed by a tick: `data-asked-back` names the controls that it is about. It holds for what stood in them. */

/** @typedef {HTMLElement} AskedBack */

/** @param {HTMLFormElement} form @returns {AskedBack[]} */
const askedBack = (form) => [...form.querySelectorAll(/** @type {"div"} */ ("[data-asked-back]"))];

/** What stands in the controls now, each with its unit. @param {HTMLFormElement} form @param {AskedBack} part */
function standing(form, part) {
  const names = (part.dataset.askedBack ?? "").split(" ").flatMap((name) => [name, `${name}.unit`]);
  const controls = names.map((name) => form.elements.namedItem(name));
  return JSON.stringify(controls.map((control) => (control instanceof HTMLInputElement || control instanceof HTMLSelectElement ? control.value.trim() : "")));
}

/** @param {AskedBack} part */
const tick = (part) => part.querySelector(/** @type {"input"} */ ("input[type=checkbox]"));

/** The form was filled: a tick among its values was given for these. @param {HTMLFormElement} form */
export function filledBack(form) {
  for (const part of askedBack(form)) {
    part.hidden = !tick(part)?.checked;
    part.dataset.affirmed = standing(form, part);
  }
}

/**
 * Something was typed, chosen or tapped: what was asked about other figures is neither affirmed any more nor asked.
 *
 * @param {HTMLFormElement} form
 * @returns {string[]} The fields of what is let go.
 */
export function askAnew(form) {
  return askedBack(form).flatMap((part) => {
    const [before, now, box] = [part.dataset.affirmed, standing(form, part), tick(part)];
    part.dataset.affirmed = now;
    // As the page was built, nothing has been affirmed yet.
    if (before === undefined || before === now) return [];
    part.hidden = true;
    if (box) box.checked = false;
    return [part.dataset.field ?? ""];
  });
}
