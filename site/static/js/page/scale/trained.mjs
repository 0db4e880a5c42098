import { eventsOfKinds } from "../../store/events.mjs";
import { openStops, trainings } from "../../store/training.mjs";
import { WALK_KINDS } from "../../store/walk.mjs";
import { reload, start } from "../app.mjs";
import { notHeld, renewEyewash } from "../eyewash.mjs";
import { phaseName, required } from "../safety/points.mjs";
import { trainingMonths } from "../safety/shop.mjs";
import { answerOf, handlesLye, standing, stillHolds } from "./lye_training.mjs";
import { clockTime, day } from "./people.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { screen } from "./stage.mjs";
import { items } from "./view.mjs";
import { untilRead } from "../unread.mjs";

/** @import { Step, TarewellEvent } from "../../store/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */
/** @import { Standing } from "./lye_training.mjs" */

/**
 * Read anew each time the question comes up: somebody may have signed or set the months meanwhile, and a day may have ended.
 *
 * @typedef {Standing & {unset: boolean, failed: string}} Found
 */

/** What is done with lye here, in the phases of the safety walk: solid caustic is dissolved, premixed lye drawn off. @param {BlockAtScale} block */
function phasesOf({ fold, issued }) {
  /** @type {{relative: [string, number][]}[]} */
  const alkalis = issued.chemistry?.alkalis ?? [];
  const stated = alkalis.flatMap(({ relative }) => relative.map(([what]) => what));
  const solid = stated.includes("assay") || fold.steps.some(({ key }) => key === "lye:dissolve");
  const premixed = stated.includes("strength") || !solid;
  return ["before", "protection", ...(solid ? ["weigh", "dissolve"] : []), ...(premixed ? ["tank"] : []), "mix"];
}

/** What the person at the scale has said of it today. @param {BlockAtScale} block */
const answerToday = ({ events, person }) => answerOf(events, person, ({ at }) => day(Date.parse(at)) === day());

/** The answer of a block that no longer holds: a stop has come since. @type {WeakMap<BlockAtScale, string>} */
const fallen = new WeakMap();

/** Asked of each who weighs the block once a day, before their first step that handles lye. @param {BlockAtScale} block @param {Step} step */
export function asksTraining(block, step) {
  if (!block.hold.held || !handlesLye(step)) return false;
  const answer = answerToday(block);
  return !answer || answer.id === fallen.get(block);
}

/** @param {BlockAtScale} block @returns {Promise<Found>} */
async function lookUp(block) {
  try {
    await start();
    await reload();
    const events = await untilRead((limit) => eventsOfKinds(WALK_KINDS, limit));
    const months = trainingMonths();
    const record = { all: trainings(events, months), stops: openStops(events, required()), required: required() };
    return { ...standing(record, phasesOf(block), day(), block.person), unset: months === null, failed: "" };
  } catch (error) {
    return { helpers: [], stop: "", unset: false, failed: error instanceof Error ? error.message : String(error) };
  }
}

/** @param {BlockAtScale} block */
export function showTrained(block) {
  if (!block.stage.place.dataset.shown?.startsWith("trained")) block.stage.show("trained-looking");
  void lookUp(block).then((found) => {
    const { step, stage } = block;
    // Meanwhile something else may be asked, or have been answered.
    if (block.open && !block.aside && step && asksTraining(block, step) && stage.place.dataset.shown?.startsWith("trained")) draw(block, found);
  });
}

/** What the question shows. @type {WeakMap<BlockAtScale, string>} */
const drawn = new WeakMap();

/** @param {BlockAtScale} block @param {Found} found */
function draw(block, found) {
  const { helpers, stop, unset, failed } = found;
  const people = helpers.map(({ helper: name }) => {
    const part = screen("trained-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  const stopped = stop !== "" && block.person;
  const slots = { stopped, free: !stopped, some: people.length > 0, nobody: people.length === 0 && !unset && !failed, unset, failed };
  drawn.set(block, JSON.stringify(found));
  block.stage.show("trained", slots, { people, phases: items(phasesOf(block).map(nameOf)) });
  block.stage.lock(!block.hold.held);
  keepReason(block);
}

/** A phase's name in the language of this page. @param {string} phase */
const nameOf = (phase) => phaseName(phase).querySelector(`.${document.documentElement.lang}`)?.textContent ?? phase;

/** Something was stored elsewhere: it may be a walk, or the months that a training holds. @param {BlockAtScale} block */
export async function trainingChanged(block) {
  if (block.stage.place.dataset.shown !== "trained") return answerHolds(block);
  // Under somebody's fingers nothing is drawn anew without need.
  if (JSON.stringify(await lookUp(block)) !== drawn.get(block)) showTrained(block);
}

/** Asks anew where what was said no longer holds, whatever is being done. @param {BlockAtScale} block */
export async function answerHolds(block) {
  const answer = answerToday(block);
  if (!answer || answer.id === fallen.get(block) || block.fold.closed) return;
  const found = await lookUp(block);
  if (found.failed || answer.id !== answerToday(block)?.id || stillHolds(answer, found)) return;
  fallen.set(block, answer.id);
  const { step } = block;
  if (step && asksTraining(block, step) && !block.aside) block.show();
}

/** What was said about it, for the closing of a block. @param {BlockAtScale} block */
export const trainingLines = ({ events }) =>
  events.filter(({ kind }) => kind === "trained").map((/** @type {TarewellEvent} */ { helper, until, reason, stopped, eyewash, person, local }) => {
    const item = document.createElement("li");
    const amiss = Object.fromEntries(Object.entries(eyewash ?? {}).map(([which, state]) => [`${which}-${state}`, true]));
    const slots = { helper, until, stopped, person, reason: !helper && reason, why: helper && reason, time: clockTime(local) };
    item.append(screen("trained-line", { ...slots, ...amiss }));
    return item;
  });

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const TRAINED_DEEDS = {
  trained: async (block, button) => {
    const name = button.dataset.name ?? "";
    const found = await lookUp(block);
    const held = found.helpers.find(({ helper }) => helper === name);
    if (!held || isNews(block, found)) return showTrained(block);
    const reason = found.stop === "" ? null : reasonGiven(block);
    if (reason === "") return block.stage.find('input[name="reason"]')?.focus();
    await store(block, { ...held, reason }, found.stop);
  },
  untrained: async (block) => {
    const reason = reasonGiven(block);
    if (reason === "") return;
    const found = await lookUp(block);
    if (isNews(block, found)) return showTrained(block);
    await store(block, { helper: null, reason }, found.stop);
  },
};

/** Whether a stop has come that the screen does not tell yet. @param {BlockAtScale} block @param {Found} found */
const isNews = (block, { stop }) => stop !== "" && stop !== JSON.parse(drawn.get(block) ?? "{}").stop;

/**
 * How the eyewash stood is kept with it, and the walk whose stop the person had open.
 *
 * @param {BlockAtScale} block @param {{helper: string | null, until?: string, reason: string | null}} fields @param {string} stop
 */
async function store(block, fields, stop) {
  await renewEyewash();
  const eyewash = notHeld();
  const stopped = stop === "" ? {} : { stopped: stop };
  if (!(await block.store("trained", { ...fields, ...stopped, ...(Object.keys(eyewash).length > 0 ? { eyewash } : {}) }))) return;
  // Asked amid a reading, it does not cost the digits.
  if (block.draft.step === "") await block.draft.clear();
  else block.draft.setReason("trained:", { why: "", text: "" });
  block.show();
}
