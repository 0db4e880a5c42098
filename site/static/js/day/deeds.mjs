/** The buttons of the page of the day: its calendar file, notifications, another day, and a plan that is dropped. */

import { app, reload } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { notice } from "../frame/notice.mjs";
import { personHere } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { handOver } from "../frame/share.mjs";
import { word } from "../frame/words.mjs";
import { icsOfInstants } from "../rules/calendar.mjs";
import { clock } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { notifyState, toggleNotify } from "./notify.mjs";

const on = () => /** @type {HTMLInputElement | null} */ (document.querySelector('form[data-task="day"] input[name="on"]'));

/** @param {() => void} changed Called once a plan has been dropped. */
export function watchDay(changed) {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("button") : null;
    if (button?.dataset.instants !== undefined) void handDay(button);
    else if (button?.dataset.notify !== undefined) void toggleNotify().then(showNotify);
    else if (button?.dataset.dropPlan !== undefined && confirmed(button)) void drop().then(changed);
  });
  on()?.addEventListener("change", () => {
    const day = on()?.value ?? "";
    if (day !== "") location.hash = `#${day}`;
  });
  // The button comes with each answer.
  const place = document.querySelector('[data-answer="day"]');
  if (place) new MutationObserver(() => showNotify()).observe(place, { childList: true, subtree: true });
  showNotify();
}

function showNotify() {
  const state = notifyState();
  for (const button of document.querySelectorAll("[data-notify]")) {
    const pressed = String(state === "on");
    if (button.getAttribute("aria-pressed") !== pressed) button.setAttribute("aria-pressed", pressed);
  }
  const told = state === "off" ? "" : word(`notify-${state}`);
  for (const line of document.querySelectorAll("[data-notify-state]")) if (line.textContent !== told) line.textContent = told;
}

/** @param {HTMLButtonElement} button */
async function handDay(button) {
  /** @type {{at: string, title: string}[]} */
  const instants = JSON.parse(button.dataset.instants ?? "[]");
  const text = icsOfInstants({ stamp: clock.now(), instants: instants.map(({ at, title }) => ({ at: Date.parse(at), title })) });
  await handOver(new File([text], `${button.dataset.name}.ics`, { type: "text/calendar" }));
}

async function drop() {
  const day = on()?.value ?? "";
  const person = await personHere();
  if (!person) return;
  if (!(app.state.day_plan ?? []).some((/** @type {{id: string}} */ { id }) => id === day)) return notice("no-plan");
  await keep(newEvent("day_dropped", `day:${day}`, { person }));
  await reload();
  notice("plan-dropped");
}
