import { keep } from "../frame/saved.mjs";
import { screen } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { timeWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { checksTogether } from "../rules/joined.mjs";
import { askedBy, CHECKED_BEFORE, checkThatHolds, SCALE_CHECK, scaleSubject, vesselScale } from "../rules/scale_checks.mjs";
import { nameKey } from "../rules/training.mjs";
import { dayOn } from "../store/clock.mjs";
import { eventsOfBatch, eventsOfKinds, newEvent } from "../store/events.mjs";
import { scaleChecksTold } from "../store/standing.mjs";
import { dailyIsHeld } from "./ready.mjs";

/** @import { Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/**
 * What is looked over before the first pour stands on one screen. Safety lines are tapped one by one, unless this person has
 * confirmed each of them today already: at an earlier block of the batch, or in the daily check, which asks the same. The
 * scale's own check holds for the shift.
 */

/** What was checked today, read when a block is opened and when something is stored elsewhere. */
export class ChecksOfToday {
  constructor() {
    /** Of this batch's blocks. @type {TarewellEvent[]} */
    this.blocks = [];
    /** Of all scales. @type {TarewellEvent[]} */
    this.scales = [];
  }

  /** @param {string} code */
  async read(code) {
    this.blocks = (await untilRead(() => eventsOfBatch(code))).filter((event) => event.kind === "checked" && isToday(event));
    this.scales = (await untilRead(scaleChecksTold)) ?? (await untilRead((limit) => eventsOfKinds(["scale_checked", "scale_moved"], limit)));
  }
}

/** The steps that weigh the empty vessel, in each block. */
const VESSEL_ON = ["check:tare-oils", "check:on"];

/** @param {TarewellEvent} event */
const isToday = ({ at }) => dayOn(Date.parse(at)) === dayOn();

/** The step as it was frozen, whatever the page's language. @param {BlockAtScale} block @param {string} key */
const frozenOf = ({ issued }, key) => issued.steps?.find((step) => step.key === key);

/** @param {BlockAtScale} block */
const scaleOf = ({ issued }) => vesselScale(issued.steps ?? []);

/** Whether the empty vessel is weighed in a step of its own: sheets from before that was so have it within the scale's check. @param {BlockAtScale} block */
const standsAlone = ({ issued }) => Boolean(issued.steps?.some(({ key }) => VESSEL_ON.includes(key)));

/** The check of the scale that this step may rest on. @param {BlockAtScale} block @param {Step} step */
function accepted(block, step) {
  const [scale, frozen] = [scaleOf(block), frozenOf(block, step.key)];
  if (step.key !== SCALE_CHECK || !scale || !frozen || !standsAlone(block)) return null;
  return checkThatHolds(block.today.scales, scale, askedBy(frozen), block.person, isToday);
}

/** Whether a safety line is still to be tapped by itself. @param {BlockAtScale} block @param {Step} step */
const wantsTap = (block, step) =>
  step.safety && !block.fold.done.has(step.key) && !dailyIsHeld(block) &&
  !block.today.blocks.some((event) =>
    event.step === step.key && event.subject !== block.subject && nameKey(event.person ?? "") === nameKey(block.person));

/** @param {BlockAtScale} block @param {Step} step */
function row(block, step) {
  const tick = step.safety && (wantsTap(block, step) || isTapped(block, step));
  const holds = block.fold.done.has(step.key) ? null : accepted(block, step);
  const part = screen("check-row", {
    title: step.title,
    tick,
    plain: !tick,
    done: !tick && isTapped(block, step),
    accepted: holds?.person,
    time: holds && timeWords(holds.local),
    how: holds ? "" : step.how,
    stop: holds ? "" : step.stop,
  });
  const key = /** @type {HTMLElement | null} */ (part.querySelector("[data-do='tick']"));
  if (key) key.dataset.key = step.key;
  key?.setAttribute("aria-pressed", String(isTapped(block, step)));
  return part;
}

/** @param {BlockAtScale} block @param {Step} step */
const isTapped = ({ fold }, step) => fold.done.has(step.key);

/** @param {BlockAtScale} block */
export function showChecks(block) {
  const steps = checksTogether(block.fold);
  const left = steps.some((step) => wantsTap(block, step));
  const safety = steps.some((step) => step.safety);
  block.stage.show("checks", {
    safety,
    ticks: left,
    "as-before": safety && steps.every((step) => !step.safety || (!wantsTap(block, step) && !isTapped(block, step))),
    person: block.person,
    before: block.linkBefore(block.fold.steps.indexOf(/** @type {Step} */ (steps[0]))),
  }, { checks: steps.map((step) => row(block, step)) });
}

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void>>} */
export const CHECK_DEEDS = {
  tick: async (block, button) => {
    const key = button.dataset.key ?? "";
    if (block.fold.done.has(key) || !(await block.store("checked", { step: key }))) return;
    button.setAttribute("aria-pressed", "true");
    // The rest stands where it stood: nothing moves under a finger.
    if (checksTogether(block.fold).length === 0) await block.advance(key);
  },
  "checks-done": async (block) => {
    const steps = checksTogether(block.fold);
    const missing = steps.find((step) => wantsTap(block, step));
    if (missing) return ask(block, missing);
    for (const step of steps) {
      if (!block.fold.done.has(step.key) && !(await check(block, step))) return;
    }
    await block.advance(steps.at(-1)?.key ?? "");
  },
  "scale-moved": async (block) => {
    const scale = scaleOf(block);
    if (!scale) return;
    await keep(newEvent("scale_moved", scaleSubject(scale), { scale, person: block.person }));
    await block.today.read(block.code);
    block.show();
  },
};

/** @param {BlockAtScale} block @param {Step} step */
function ask(block, step) {
  const problem = block.stage.find('[data-slot="problem"]');
  if (problem) problem.textContent = word("tick-missing");
  const key = block.stage.find(`[data-do="tick"][data-key="${CSS.escape(step.key)}"]`);
  key?.scrollIntoView({ block: "center" });
  key?.focus({ preventScroll: true });
}

/** @param {BlockAtScale} block @param {Step} step */
async function check(block, step) {
  const holds = accepted(block, step);
  if (!(await block.store("checked", { step: step.key, ...(holds ? { note: CHECKED_BEFORE, accepts: holds.id } : {}) }))) return false;
  if (!holds) await scaleChecked(block, step);
  return true;
}

/** Kept for the blocks to come, after the block's own record: between the two a kill only lets it be asked again. @param {BlockAtScale} block @param {Step} step */
export async function scaleChecked(block, step) {
  const [scale, frozen] = [scaleOf(block), frozenOf(block, step.key)];
  if (step.key !== SCALE_CHECK || !scale || !frozen) return;
  await keep(newEvent("scale_checked", scaleSubject(scale), { scale, said: askedBy(frozen), person: block.person }));
}
