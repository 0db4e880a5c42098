/** The buttons of a tank's switch-on that is kept: done with one tap, or dropped with two. */

import { confirmed } from "../frame/confirmed.mjs";
import { personToday } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";
import { keptSwitch } from "./due.mjs";

/** Those whose event is being stored: a second tap does nothing. @type {Set<string>} */
const underWay = new Set();

/** @param {() => Promise<void>} changed Called once something was stored. */
export function watchSwitches(changed) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest(/** @type {"button"} */ ("button[data-switch]")) : null;
    if (button && (button.dataset.switch === "on" || confirmed(button))) void stored(button).then(changed);
  });
}

/** @param {HTMLButtonElement} button */
async function stored({ value: takes, dataset }) {
  const kept = keptSwitch(takes);
  if (!kept || underWay.has(takes)) return;
  underWay.add(takes);
  try {
    // Today asks nobody who they are: whoever kept it stands for whoever taps.
    const person = (await personToday()) || kept.person;
    await keep(newEvent(dataset.switch === "on" ? "tank_switched_on" : "tank_switch_dropped", `contents:${kept.tank}`, { person, takes }));
  } finally {
    underWay.delete(takes);
  }
}
