import { renew } from "./renewed.mjs";
import { setHTML } from "./trusted.mjs";

/** The answer that stands in a place, as it came. @type {WeakMap<HTMLElement, Node>} */
const came = new WeakMap();

/**
 * Puts an answer in place of the one before it: what was folded out stays so, and the focus stays on its control.
 *
 * @param {HTMLElement} place
 * @param {string} markup
 */
export function redraw(place, markup) {
  const open = new Set(called(place).filter(({ fold }) => fold.open).map(({ name }) => name));
  const focused = place.contains(document.activeElement) ? document.activeElement : null;
  const stood = standing(place, focused);
  const answer = document.createElement("template");
  setHTML(answer, markup);
  // What was built into the page is the first answer of all.
  renew(place, came.get(place) ?? place.cloneNode(true), answer.content);
  came.set(place, answer.content);
  for (const { fold, name } of called(place)) fold.open ||= open.has(name);
  if (focused && focused !== document.activeElement) (again(place, stood) ?? itself(place)).focus({ preventScroll: true });
}

const CONTROLS = "a[href], button, input, select, textarea, summary, [tabindex]";

/**
 * Folds by their names; those without one by where they stand. Among other folds than before that tells nothing.
 *
 * @param {HTMLElement} place
 */
const called = (place) =>
  [...place.querySelectorAll("details")].map((fold, n, all) => ({ fold, name: fold.dataset.fold ?? `${n} of ${all.length}` }));

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
