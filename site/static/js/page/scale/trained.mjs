import { eventsOfKinds } from "../../store/events.mjs";
import { covered, nameKey, openStops, trainings } from "../../store/training.mjs";
import { WALK_KINDS } from "../../store/walk.mjs";
import { reload, start } from "../app.mjs";
import { notHeld, renewEyewash } from "../eyewash.mjs";
import { phaseName, required } from "../safety/points.mjs";
import { trainingMonths } from "../safety/shop.mjs";
import { insist } from "../saved.mjs";
import { clockTime, day } from "./people.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { screen } from "./stage.mjs";
import { items } from "./view.mjs";

/** @import { Step, TarewellEvent } from "../../store/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/**
 * Read anew each time the question comes up: somebody may have signed or set the months meanwhile, and a day may have ended.
 *
 * @typedef {{helpers: {helper: string, until: string}[], unset: boolean, failed: string}} Found
 */

/** Reading, stirring, drawing, weighing, dissolving, pouring. @param {Step} step */
const handlesLye = ({ key, pour }) => /^(?:lye:|temp:lye$|reserve:lye$)/.test(key) || Boolean(pour?.startsWith("lye:"));

/** What is done with lye here, in the phases of the safety walk: solid caustic is dissolved, premixed lye drawn off. @param {BlockAtScale} block */
function phasesOf({ fold, issued }) {
  /** @type {{relative: [string, number][]}[]} */
  const alkalis = issued.chemistry?.alkalis ?? [];
  const stated = alkalis.flatMap(({ relative }) => relative.map(([what]) => what));
  const solid = stated.includes("assay") || fold.steps.some(({ key }) => key === "lye:dissolve");
  const premixed = stated.includes("strength") || !solid;
  return ["before", "protection", ...(solid ? ["weigh", "dissolve"] : []), ...(premixed ? ["tank"] : []), "mix"];
}

/** Asked of each who weighs the block once a day, before their first step that handles lye. @param {BlockAtScale} block @param {Step} step */
export const asksTraining = (block, step) =>
  block.hold.held && handlesLye(step) && !block.events.some(
    ({ kind, at, person }) => kind === "trained" && day(Date.parse(at)) === day() && nameKey(person ?? "") === nameKey(block.person));

/** @param {BlockAtScale} block @returns {Promise<Found>} */
async function lookUp(block) {
  try {
    await start();
    await reload();
    const events = await insist(() => eventsOfKinds(WALK_KINDS));
    const months = trainingMonths();
    const record = { all: trainings(events, months), stops: openStops(events, required()), required: required() };
    return { helpers: covered(record, phasesOf(block), day()), unset: months === null, failed: "" };
  } catch (error) {
    return { helpers: [], unset: false, failed: error instanceof Error ? error.message : String(error) };
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
  const { helpers, unset, failed } = found;
  const people = helpers.map(({ helper: name }) => {
    const part = screen("trained-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  const slots = { some: people.length > 0, nobody: people.length === 0 && !unset && !failed, unset, failed };
  drawn.set(block, JSON.stringify(found));
  block.stage.show("trained", slots, { people, phases: items(phasesOf(block).map(nameOf)) });
  block.stage.lock(!block.hold.held);
  keepReason(block);
}

/** A phase's name in the language of this page. @param {string} phase */
const nameOf = (phase) => phaseName(phase).querySelector(`.${document.documentElement.lang}`)?.textContent ?? phase;

/** Something was stored elsewhere: it may be a walk, or the months that a training holds. @param {BlockAtScale} block */
export async function trainingChanged(block) {
  if (block.stage.place.dataset.shown !== "trained") return;
  // Under somebody's fingers nothing is drawn anew without need.
  if (JSON.stringify(await lookUp(block)) !== drawn.get(block)) showTrained(block);
}

/** What was said about it, for the closing of a block. @param {BlockAtScale} block */
export const trainingLines = ({ events }) =>
  events.filter(({ kind }) => kind === "trained").map((/** @type {TarewellEvent} */ { helper, until, reason, eyewash, person, local }) => {
    const item = document.createElement("li");
    const amiss = Object.fromEntries(Object.entries(eyewash ?? {}).map(([which, state]) => [`${which}-${state}`, true]));
    item.append(screen("trained-line", { helper, until, reason, person, time: clockTime(local), ...amiss }));
    return item;
  });

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const TRAINED_DEEDS = {
  trained: async (block, button) => {
    const name = button.dataset.name ?? "";
    const held = (await lookUp(block)).helpers.find(({ helper }) => helper === name);
    if (!held) return showTrained(block);
    await store(block, { ...held, reason: null });
  },
  untrained: (block) => {
    const reason = reasonGiven(block);
    if (reason !== "") return store(block, { helper: null, reason });
  },
};

/** How the eyewash stood is kept with it. @param {BlockAtScale} block @param {{helper: string | null, until?: string, reason: string | null}} fields */
async function store(block, fields) {
  await renewEyewash();
  const eyewash = notHeld();
  if (!(await block.store("trained", { ...fields, ...(Object.keys(eyewash).length > 0 ? { eyewash } : {}) }))) return;
  await block.draft.clear();
  block.show();
}
