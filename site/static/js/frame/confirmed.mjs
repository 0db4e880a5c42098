import { word } from "./words.mjs";

/** What each button that waits says otherwise, and what ends its waiting. @type {WeakMap<HTMLElement, {text: string | null, timer: ReturnType<typeof setTimeout>}>} */
const waiting = new WeakMap();

/** How long a button waits for the second press, and what still counts as one double tap. [ms] */
const ARMED = 6000;
const DOUBLE_TAP = 300;

/** @param {HTMLElement} button */
function disarm(button) {
  const was = waiting.get(button);
  clearTimeout(was?.timer);
  waiting.delete(button);
  delete button.dataset.armed;
  if (was) button.textContent = was.text;
}

/**
 * @param {HTMLElement} button
 * @returns {boolean} Whether this press is the confirming one.
 */
export function confirmed(button) {
  if (button.dataset.armed !== undefined) {
    const meant = performance.now() - Number(button.dataset.armed) > DOUBLE_TAP;
    if (meant) disarm(button);
    return meant;
  }
  waiting.set(button, { text: button.textContent, timer: setTimeout(() => disarm(button), ARMED) });
  button.dataset.armed = String(performance.now());
  button.textContent = word("press-again");
  return false;
}
