import { setHTML } from "./trusted.mjs";

/**
 * Puts an answer in place of the one before it: what was folded out stays so, and the focus stays on its control.
 *
 * @param {HTMLElement} place
 * @param {string} markup
 */
export function redraw(place, markup) {
  const open = folds(place).map((fold) => fold.open);
  const focused = place.contains(document.activeElement) ? standing(place, document.activeElement) : null;
  setHTML(place, markup);
  const now = folds(place);
  // Other folds than before are another answer: which of them was open can't be told.
  if (now.length === open.length) now.forEach((fold, n) => (fold.open ||= open[n] ?? false));
  if (focused) (again(place, focused) ?? itself(place)).focus({ preventScroll: true });
}

const CONTROLS = "a[href], button, input, select, textarea, summary, [tabindex]";

/** @param {HTMLElement} place */
const folds = (place) => [...place.querySelectorAll("details")];

/** @param {HTMLElement} place @returns {HTMLElement[]} */
const controls = (place) => [...place.querySelectorAll(CONTROLS)].filter((each) => each instanceof HTMLElement);

/** Where a control stands among those of its place. @param {HTMLElement} place @param {Element | null} control */
function standing(place, control) {
  const all = controls(place);
  return { at: all.findIndex((each) => each === control), of: all.length, tag: control?.tagName };
}

/** @param {HTMLElement} place @param {{ at: number, of: number, tag: string | undefined }} before */
function again(place, before) {
  const all = controls(place);
  const found = all[before.at];
  return all.length === before.of && found?.tagName === before.tag ? found : undefined;
}

/** The next key goes on from here, not from the top of the page. @param {HTMLElement} place */
function itself(place) {
  place.tabIndex = -1;
  return place;
}
