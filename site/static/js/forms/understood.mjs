/** Shows beside each quantity what it was understood as, in Python's words. */

/** @param {ParentNode} part @returns {NodeListOf<HTMLElement>} */
const placesIn = (part) => part.querySelectorAll(/** @type {"p"} */ ("[data-understood]"));

/**
 * Shows what came. Gives back the words about the control in hand, for a screen reader to say with the answer.
 *
 * @param {HTMLFormElement} form
 * @param {Record<string, string>} understood By control.
 */
export function showUnderstood(form, understood) {
  for (const place of placesIn(form)) place.textContent = understood[place.dataset.understood ?? ""] ?? "";
  const inHand = document.activeElement?.closest("[data-field]");
  return inHand && form.contains(inHand) ? ([...placesIn(inHand)][0]?.textContent ?? "") : "";
}

/** What was said of a text that has changed holds no more. @param {Element} control */
export function forgetUnderstood(control) {
  const field = control.closest("[data-field]");
  if (field) for (const place of placesIn(field)) place.textContent = "";
}
