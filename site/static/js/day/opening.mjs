/** Which day the page opens on: where its address names none, today, and tomorrow once today's work is over. */

import { app } from "../frame/app.mjs";
import { isDayOver } from "../rules/day.mjs";
import { daysAfter } from "../rules/training.mjs";
import { clock, dayOn, localTime } from "../store/clock.mjs";
import { planOf, shownDay } from "./read.mjs";

/** @import { sheetForDay } from "../rules/day.mjs" */

let over = false;

/** Names the day in the address. What is known of the newest sheets has been read. @param {string} usualEnd When work usually ends, "17:00". */
export async function openDay(usualEnd) {
  const today = dayOn();
  const plan = await planOf(today);
  const blocks = (app.state.made ?? []).flatMap((/** @type {ReturnType<typeof sheetForDay>} */ { code, formula, told }) =>
    Object.entries(told).map(([block, events]) => ({ subject: `block:${code}/${block}`, soap: formula.name, events })));
  over = isDayOver({ entries: plan?.entries ?? [], blocks, ends: plan?.values?.ends_at || usualEnd }, localTime(clock.now()).slice(0, 16));
  if (location.hash === "") history.replaceState(history.state, "", `#${over ? daysAfter(today, 1) : today}`);
  sayTurned();
}

/** Says that the page has turned to tomorrow, with the way back to today. */
export function sayTurned() {
  const today = dayOn();
  const place = document.querySelector(/** @type {"p"} */ ("[data-turned]"));
  if (!place) return;
  place.hidden = !over || shownDay() !== daysAfter(today, 1);
  place.querySelector("a")?.setAttribute("href", `#${today}`);
}
