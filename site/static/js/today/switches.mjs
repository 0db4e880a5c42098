/** The buttons of a tank's switch-on that is kept: done with one tap, or dropped with two; and of a tank that is on: off with one tap. */

import { confirmed } from "../frame/confirmed.mjs";
import { personToday } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";
import { toldSwitch } from "./due.mjs";

/** @type {Record<string, import("../rules/types.mjs").Kind>} */
const DONE = { on: "tank_switched_on", drop: "tank_switch_dropped", off: "tank_switched_off" };

/** Those whose event is being stored: a second tap does nothing. @type {Set<string>} */
const underWay = new Set();

/** @param {() => Promise<void>} changed Called once something was stored. */
export function watchSwitches(changed) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest(/** @type {"button"} */ ("button[data-switch]")) : null;
    if (button && (button.dataset.switch !== "drop" || confirmed(button))) void stored(button).then(changed);
  });
}

/** @param {HTMLButtonElement} button */
async function stored({ value: takes, dataset }) {
  const told = toldSwitch(takes);
  const kind = DONE[dataset.switch ?? ""];
  if (!told || !kind || underWay.has(takes)) return;
  underWay.add(takes);
  try {
    // Today asks nobody who they are: whoever kept it stands for whoever taps.
    const person = (await personToday()) || told.person;
    await keep(newEvent(kind, `contents:${told.tank}`, { person, takes }));
  } finally {
    underWay.delete(takes);
  }
}
