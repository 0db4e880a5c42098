/** The buttons of an answer about a batch, a tank or stock: an entry that was wrong is taken back, days go into a calendar file; set-aside soap is gone. */

import { reload } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { personHere } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { handOver } from "../frame/share.mjs";
import { icsOfDays } from "../rules/calendar.mjs";
import { clock } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";

/** @param {() => void} changed Called once something was stored. */
export function watchDeeds(changed) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (button?.dataset.calendar !== undefined) void handDays(button);
    else if (button?.dataset.takeBack !== undefined && confirmed(button)) void stored(button, takesBack(button), { takes: button.dataset.takeBack }).then(changed);
    else if (button?.dataset.gone !== undefined && confirmed(button)) void stored(button, "aside_gone", {}).then(changed);
  });
}

/** @param {HTMLButtonElement} button */
const takesBack = ({ dataset: { kind } }) => (kind === "tank_taken_back" || kind === "stock_taken_back" ? kind : "cure_taken_back");

/** @param {HTMLButtonElement} button @param {import("../rules/types.mjs").Kind} kind @param {{takes?: string}} fields */
async function stored(button, kind, fields) {
  const person = await personHere();
  if (!person) return;
  await keep(newEvent(kind, button.dataset.subject ?? "", { person, ...fields }));
  await reload();
}

/** @param {HTMLButtonElement} button */
async function handDays(button) {
  const days = JSON.parse(button.dataset.calendar ?? "[]");
  const text = icsOfDays({ stamp: clock.now(), days });
  await handOver(new File([text], `${button.dataset.name}.ics`, { type: "text/calendar" }));
}
