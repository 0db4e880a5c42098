import { eventsOfKinds } from "../../store/events.mjs";
import { covered, trainings } from "../../store/training.mjs";
import { WALK_KINDS } from "../../store/walk.mjs";
import { start } from "../app.mjs";
import { trainingMonths } from "../safety/months.mjs";
import { insist } from "../saved.mjs";
import { day } from "./people.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { screen } from "./stage.mjs";

/** @import { Step } from "../../store/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** Whose training covers this block's work with lye: names, or null while that is being looked up. @type {string[] | null} */
let names = null;

/** The block that the names are of. @type {BlockAtScale | null} */
let asked = null;

/** What is done with lye here, in the phases of the safety walk: solid caustic is dissolved, premixed lye drawn off. @param {BlockAtScale} block */
const phasesOf = ({ fold }) => (fold.steps.some(({ key }) => key === "lye:dissolve") ? ["weigh", "dissolve"] : ["tank"]);

/** Asked once a block, before the first step that weighs lye. @param {BlockAtScale} block @param {Step} step */
export const asksTraining = (block, step) =>
  block.hold.held && step.kind === "weigh" && step.twice && !block.events.some(({ kind }) => kind === "trained");

/** @param {BlockAtScale} block */
async function lookUp(block) {
  const events = await insist(() => eventsOfKinds(WALK_KINDS));
  await start();
  names = covered(trainings(events, trainingMonths()), phasesOf(block), day());
  if (block.open && block.stage.place.dataset.shown === "trained") block.show();
}

/** @param {BlockAtScale} block */
export function showTrained(block) {
  if (asked !== block) {
    asked = block;
    names = null;
    void lookUp(block);
  }
  const people = (names ?? []).map((name) => {
    const part = screen("trained-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  block.stage.show("trained", { some: people.length > 0, nobody: names !== null && people.length === 0 }, { people });
  keepReason(block);
}

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const TRAINED_DEEDS = {
  trained: (block, button) => store(block, { helper: button.dataset.name ?? null, reason: null }),
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
