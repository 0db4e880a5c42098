import { handOver } from "../frame/share.mjs";
import { instantWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { icsText } from "../rules/calendar.mjs";
import { endOf, remaining } from "../rules/timers.mjs";
import { clock } from "../store/clock.mjs";
import { signal } from "./comforts.mjs";
import { startOf } from "./view.mjs";

/** @import { Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */
/** @import { Slots } from "../frame/stage.mjs" */

/** How often the digits are looked at. The time itself is the clock's. [ms] */
const TICK = 500;

/** @type {ReturnType<typeof setInterval> | undefined} */
let ticking;

/** "1:05:09", "12:30" @param {number} seconds */
export function spread(seconds) {
  const whole = Math.max(0, Math.ceil(seconds));
  const [hours, minutes, rest] = [Math.floor(whole / 3600), Math.floor((whole % 3600) / 60), whole % 60];
  const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
  return hours > 0 ? `${hours}:${two(minutes)}:${two(rest)}` : `${minutes}:${two(rest)}`;
}

/** When the started time of a step ends. @param {TarewellEvent} started @param {Step} step [ms] */
export const endOfStep = (started, step) => endOf(started, step.seconds ?? 0);

/** @param {BlockAtScale} block @param {Step} step @param {Slots} slots @param {Node[]} joined What is done in one go with its end. */
export function showTimer(block, step, slots, joined) {
  clearInterval(ticking);
  const started = startOf(block.events, step.key);
  const last = block.fold.index === block.fold.steps.length - 1;
  const state = () => (started ? remaining(started, step.seconds ?? 0, clock.now(), block.events.at(-1)) : null);
  block.stage.show("timer", {
    ...slots,
    idle: !started,
    running: Boolean(started),
    until: started && instantWords(endOfStep(started, step)),
    "may-close": Boolean(started) && last,
    "clock-back": state()?.clockBack,
    "long-over": state()?.longOver,
  }, { joined });
  let rung = (state()?.seconds ?? 1) <= 0;
  const tick = () => {
    const place = block.stage.find("[data-countdown]");
    if (!place || !block.open) return clearInterval(ticking);
    const left = state()?.seconds ?? step.seconds ?? 0;
    place.textContent = spread(left);
    const up = block.stage.find("[data-time-up]");
    if (up) up.hidden = left > 0;
    if (left <= 0 && !rung) signal("look");
    rung ||= left <= 0;
  };
  tick();
  ticking = setInterval(tick, TICK);
}

/** Hands over a calendar file for the end of a step's time. @param {BlockAtScale} block @param {Step} step @param {TarewellEvent} started */
export async function handCalendar(block, step, started) {
  const title = word("calendar-title", { title: step.title, block: block.number, code: block.code });
  const text = icsText({ uid: started.id, at: endOfStep(started, step), stamp: clock.now(), title, description: step.how ?? "" });
  const file = new File([text], `${block.code}-${block.number}.ics`, { type: "text/calendar" });
  const outcome = await handOver(file);
  const place = block.stage.find('[data-slot="handed"]');
  if (place) place.textContent = word(`export-${outcome}`);
}
