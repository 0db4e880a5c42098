/** The parts of the page of phones, of which one is shown at a time. */

/** @typedef {"practice" | "unpaired" | "join" | "waiting" | "over" | "paired"} Part */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-phones]"));

/** @param {string} selector */
export const one = (selector) => /** @type {HTMLElement} */ (root.querySelector(selector));

/** @param {Part} name */
export const part = (name) => one(`[data-phones-part="${name}"]`);

/** @param {Part} name */
export function showPart(name) {
  for (const each of root.querySelectorAll(/** @type {"section"} */ ("[data-phones-part]"))) each.hidden = each.dataset.phonesPart !== name;
}

/** @param {(action: string, button: HTMLElement) => void} act */
export function onDeed(act) {
  root.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest(/** @type {"button"} */ ("button[data-phones-do]")) : null;
    if (button) act(button.dataset.phonesDo ?? "", button);
  });
}
