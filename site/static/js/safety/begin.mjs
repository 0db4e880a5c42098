import { keep } from "../frame/saved.mjs";
import { fill } from "../frame/stage.mjs";
import { covers, nameKey, openStops, stopOf, trainings, unfit } from "../rules/training.mjs";
import { walkSubject } from "../rules/walk.mjs";
import { clock, dayOn } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { shownLanguage } from "./language.mjs";
import { lasting, pointsOf, required } from "./points.mjs";
import { trainingMonths } from "./shop.mjs";
import { readWalks } from "./walks_read.mjs";
import { Typed } from "./typed.mjs";

const place = () => /** @type {HTMLElement} */ (document.querySelector("[data-begin]"));

/** Keeps what is typed there. The guide's name stays for the next walk. @type {Typed | undefined} */
let typed;

/** Puts back what was typed before. */
export async function readyToBegin() {
  if (!typed) {
    typed = new Typed(place(), "safety:begin");
    place().addEventListener("input", count);
    await typed.load();
  }
  count();
}

/** Says how long the walk will be. */
function count() {
  const { points } = pointsOf(chosen("phase"));
  const line = /** @type {HTMLElement} */ (place().querySelector("[data-points-chosen]"));
  line.hidden = points.length === 0;
  fill(line, { points: points.length });
}

/** @param {string} name */
const field = (name) => /** @type {HTMLInputElement} */ (place().querySelector(`input[name="${name}"]`));

/** @param {string} name */
const chosen = (name) => [...place().querySelectorAll(/** @type {"input"} */ (`input[name="${name}"]:checked`))].map(({ value }) => value);

export function chooseAllPhases() {
  for (const box of place().querySelectorAll(/** @type {"input"} */ ('input[name="phase"]'))) {
    box.checked = true;
    box.dispatchEvent(new Event("input", { bubbles: true }));
  }
}

/** @param {string} selector @param {boolean} wrong */
function say(selector, wrong) {
  /** @type {HTMLElement} */ (place().querySelector(selector)).hidden = !wrong;
  return wrong;
}

/**
 * Says that this guide's training doesn't cover the walk; gives the reason typed, if it was asked for about this very guide.
 *
 * @param {string} guide @param {string} typed What stood there at the tap.
 */
function reasonToGuide(guide, typed) {
  const box = /** @type {HTMLElement} */ (place().querySelector("[data-guide-problem]"));
  const asked = !box.hidden && box.dataset.guide === nameKey(guide);
  box.dataset.guide = nameKey(guide);
  const reason = asked ? typed : "";
  say("[data-guide-problem]", reason === "");
  if (reason === "") field("guide-reason").focus();
  return reason;
}

/** @param {string} name */
function empty(name) {
  field(name).value = "";
  field(name).dispatchEvent(new Event("input", { bubbles: true }));
}

/**
 * Begins a walk and gives it. Where this helper has an open stop in these phases, gives that older walk instead. Gives null
 * while something is missing, which the page then says. One may guide oneself: else nobody could be trained where one works.
 *
 * @returns {Promise<{subject: string, older: boolean} | null>}
 */
export async function begin() {
  const [helper, guide] = [field("helper").value.trim(), field("guide").value.trim()];
  const phases = chosen("phase");
  // Read at the tap, like all else. What is typed while the walk is looked up came after the tap.
  const typedReason = field("guide-reason").value.trim();
  const missing = say("[data-begin-problem]", !(helper && guide && phases.length > 0));
  if (missing) return null;
  const events = await readWalks(trainingMonths());
  const record = { all: trainings(events, trainingMonths()), stops: openStops(events, required(), lasting()), required: required() };
  const stop = stopOf(record.stops, helper, phases);
  if (stop) return { subject: stop.subject, older: true };
  const day = dayOn();
  if (say("[data-guide-unfit]", Boolean(unfit(record.stops, guide, day)))) return null;
  const guided = covers(record, guide, phases, day);
  const reason = guided ? "" : reasonToGuide(guide, typedReason);
  if (!guided && reason === "") return null;
  say("[data-guide-problem]", false);
  const { points, by_phase, own } = pointsOf(phases);
  const language = shownLanguage(document);
  const begun = newEvent("walk_begun", walkSubject(clock.uuid()), {
    helper, guide, language, way: "read-do", phases, points, by_phase, ...(own.length > 0 ? { own } : {}), ...(reason ? { reason } : {}),
  });
  await keep(begun, null);
  // The next walk is another person's, with phases of its own.
  for (const choice of place().querySelectorAll(/** @type {"input"} */ ("input:checked"))) choice.checked = false;
  empty("helper");
  empty("guide-reason");
  return { subject: begun.subject, older: false };
}
