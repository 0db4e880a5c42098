import { eventsOfKinds } from "../../store/events.mjs";
import { covered, openStops, trainings } from "../../store/training.mjs";
import { WALK_KINDS } from "../../store/walk.mjs";
import { start } from "../app.mjs";
import { phaseName, required } from "../safety/points.mjs";
import { trainingMonths } from "../safety/shop.mjs";
import { insist } from "../saved.mjs";
import { clockTime, day } from "./people.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { screen } from "./stage.mjs";
import { items } from "./view.mjs";

/** @import { Step, TarewellEvent } from "../../store/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** Read anew each time the question comes up: somebody may have signed meanwhile, and a day may have ended. @typedef {{names: string[], unset: boolean, failed: string}} Found */

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

/** Asked once a block and day, before the first step that handles lye. @param {BlockAtScale} block @param {Step} step */
export const asksTraining = (block, step) =>
  block.hold.held && handlesLye(step) && !block.events.some(({ kind, at }) => kind === "trained" && day(Date.parse(at)) === day());

/** @param {BlockAtScale} block @returns {Promise<Found>} */
async function lookUp(block) {
  try {
    await start();
    const events = await insist(() => eventsOfKinds(WALK_KINDS));
    const months = trainingMonths();
    const record = { all: trainings(events, months), stops: openStops(events, required()), required: required() };
    return { names: covered(record, phasesOf(block), day()), unset: months === null, failed: "" };
  } catch (error) {
    return { names: [], unset: false, failed: error instanceof Error ? error.message : String(error) };
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

/** @param {BlockAtScale} block @param {Found} found */
function draw(block, { names, unset, failed }) {
  const people = names.map((name) => {
    const part = screen("trained-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  const slots = { some: names.length > 0, nobody: names.length === 0 && !unset && !failed, unset, failed };
  block.stage.show("trained", slots, { people, phases: items(phasesOf(block).map(nameOf)) });
  block.stage.lock(!block.hold.held);
  keepReason(block);
}

/** A phase's name in the language of this page. @param {string} phase */
const nameOf = (phase) => phaseName(phase).querySelector(`.${document.documentElement.lang}`)?.textContent ?? phase;

/** Something was stored elsewhere: it may be a walk. @param {BlockAtScale} block */
export async function trainingChanged(block) {
  if (block.stage.place.dataset.shown !== "trained") return;
  const shown = [...block.stage.place.querySelectorAll(/** @type {"button"} */ ("[data-name]"))].map(({ dataset }) => dataset.name);
  const { names } = await lookUp(block);
  // Under somebody's fingers nothing is drawn anew without need.
  if (names.join("\n") !== shown.join("\n")) showTrained(block);
}

/** What was said about it, for the closing of a block. @param {BlockAtScale} block */
export const trainingLines = ({ events }) =>
  events.filter(({ kind }) => kind === "trained").map((/** @type {TarewellEvent} */ { helper, reason, person, local }) => {
    const item = document.createElement("li");
    item.append(screen("trained-line", { helper, reason, person, time: clockTime(local) }));
    return item;
  });

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const TRAINED_DEEDS = {
  trained: async (block, button) => {
    const name = button.dataset.name ?? "";
    const { names } = await lookUp(block);
    if (!names.includes(name)) return showTrained(block);
    await store(block, { helper: name, reason: null });
  },
  untrained: (block) => {
    const reason = reasonGiven(block);
    if (reason !== "") return store(block, { helper: null, reason });
  },
};

/** @param {BlockAtScale} block @param {{helper: string | null, reason: string | null}} fields */
async function store(block, fields) {
  if (!(await block.store("trained", fields))) return;
  await block.draft.clear();
  block.show();
}
