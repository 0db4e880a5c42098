import { word } from "./words.mjs";

/** How long a button waits for the second press, and what still counts as one double tap. [ms] */
const ARMED = 6000;
const DOUBLE_TAP = 300;

/**
 * @param {HTMLElement} button
 * @returns {boolean} Whether this press is the confirming one.
 */
export function confirmed(button) {
  const since = Number(button.dataset.armed);
  if (button.dataset.armed !== undefined) {
    const meant = performance.now() - since > DOUBLE_TAP;
    if (meant) delete button.dataset.armed;
    return meant;
  }
  const text = button.textContent;
  button.dataset.armed = String(performance.now());
  button.textContent = word("press-again");
  setTimeout(() => {
    delete button.dataset.armed;
    button.textContent = text;
  }, ARMED);
  return false;
}
