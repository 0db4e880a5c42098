/** The buttons of an answer that store an event, which they name: an entry that was wrong is taken back, or something is gone; and days go into a calendar file. */

import { icsOfDays } from "../rules/calendar.mjs";
import { isKind } from "../rules/kinds.mjs";
import { clock } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { reload } from "./app.mjs";
import { confirmed } from "./confirmed.mjs";
import { personHere } from "./people.mjs";
import { keep } from "./saved.mjs";
import { handOver } from "./share.mjs";

/** @param {() => void} changed Called once something was stored. */
export function watchDeeds(changed) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (button?.dataset.calendar !== undefined) void handDays(button);
    else if (button?.dataset.kind !== undefined && confirmed(button)) void stored(button).then(changed);
  });
}

/** @param {HTMLButtonElement} button Its kind of event, what that is about, which entry it takes back, if any, and who did that. */
async function stored({ dataset: { kind = "", subject = "", takeBack, person: otherwise } }) {
  const person = await personHere(otherwise);
  if (!person || !isKind(kind)) return;
  await keep(newEvent(kind, subject, { person, ...(takeBack === undefined ? {} : { takes: takeBack }) }));
  await reload();
}

/** @param {HTMLButtonElement} button */
async function handDays(button) {
  const days = JSON.parse(button.dataset.calendar ?? "[]");
  const text = icsOfDays({ stamp: clock.now(), days });
  await handOver(new File([text], `${button.dataset.name}.ics`, { type: "text/calendar" }));
}
