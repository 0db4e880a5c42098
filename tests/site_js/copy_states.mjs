/**
 * What the scripts make of a kept copy, as plain data: the form of `tests/fixtures/copies/NAME.state.json`.
 *
 * Run by itself it prints the state of one copy, for the day on which a new copy is added. The state of an older copy is
 * never made anew: it is what the app showed when the copy was made.
 */
import "./database_for_tests.mjs";
import { readFileSync } from "node:fs";
import { argv } from "node:process";
import { pathToFileURL } from "node:url";
import { gunzipSync } from "node:zlib";
import { countByKind, eventsIn, readCopy, writeCopy } from "../../site/static/js/store/backup.mjs";
import { blockOf, foldBlock, standingDecisions } from "../../site/static/js/rules/block.mjs";
import { batch, blockEvents, blocksInHand, everyEvent, merge } from "../../site/static/js/store/events.mjs";
import { eyewashOf } from "../../site/static/js/rules/eyewash.mjs";
import { foldWorkshop } from "../../site/static/js/rules/fold.mjs";
import { trainings } from "../../site/static/js/rules/training.mjs";
import { foldWalks } from "../../site/static/js/rules/walk.mjs";
import { allEvents, freshDatabase } from "./database_for_tests.mjs";

// The screens' module looks for its words as it is loaded; what is asked of it here needs none.
Object.assign(globalThis, {
  HTMLTemplateElement: class {},
  CSS: { escape: String },
  document: { documentElement: {}, getElementById: () => null, querySelector: () => null },
});
const { counting, lotsOf } = await import("../../site/static/js/rules/readings.mjs");
const { pendingKey } = await import("../../site/static/js/scale/view.mjs");

const FOLDER = new URL("../fixtures/copies/", import.meta.url);
/** Trainings of the copies hold so long. [months] */
const RENEWED = 12;
/** Checks of the eyewash are due again after so long. */
const DUE = { weekly: { days: 7 }, yearly: { months: 12 } };

/** The text of a kept copy, just as the app handed it out. @param {string} name */
export const textOf = (name) => gunzipSync(readFileSync(new URL(`${name}.json.gz`, FOLDER))).toString("utf-8");

/** @param {string} name */
export const stateOf = (name) => JSON.parse(readFileSync(new URL(`${name}.state.json`, FOLDER), "utf-8"));

/** Takes a copy in as the page does, into an empty store. @param {string} text @returns {Promise<any[]>} Every event that is stored then. */
export async function takenIn(text) {
  await freshDatabase();
  const file = new Blob([text]);
  const read = await readCopy(file);
  if ("refused" in read) throw new Error(`the copy is refused: ${read.refused}`);
  await merge(() => eventsIn(file, read.sha256));
  return allEvents();
}

/** The text of a copy of all that is stored now. */
export const copiedAgain = async () => (await writeCopy(everyEvent())).text();

/** @param {any[]} events All that is stored; the store holds them too. */
export async function shownOf(events) {
  const today = events.map(({ local }) => local.slice(0, 10)).sort().at(-1);
  return {
    kinds: Object.fromEntries([...countByKind(events)].sort()),
    workshop: foldWorkshop({}, events),
    in_hand: (await blocksInHand(100)).map(({ subject }) => subject).sort(),
    blocks: await blocksOf(events),
    walks: foldWalks(events).map(walkShown),
    trainings: trainings(events, RENEWED),
    eyewash: Object.fromEntries(Object.entries(DUE).map(([which, every]) => [which, eyewashOf(events, which, every, today)])),
  };
}

/** @param {any[]} events */
async function blocksOf(events) {
  const subjects = [...new Set(events.map(({ subject }) => subject))].filter((subject) => subject.startsWith("block:")).sort();
  return Object.fromEntries(await Promise.all(subjects.map(async (subject) => {
    const [code, block] = blockOf(subject);
    const [[issued], own] = await Promise.all([batch(code), blockEvents(code, block)]);
    const fold = foldBlock(issued.steps, own);
    return [subject, {
      steps: fold.steps.map(({ key }) => key),
      targets: Object.fromEntries(fold.steps.filter(({ kind }) => kind === "weigh").map(({ key, target }) => [key, target])),
      done: Object.fromEntries([...fold.done].map(([key, event]) => [key, { event: event.id, ...counted(own, event) }]).sort()),
      current: fold.steps[fold.index]?.key ?? null,
      pending: pendingKey(fold, own),
      decided: standingDecisions(own).map(({ id, choice }) => [id, choice]),
      lots: Object.fromEntries(Object.entries(lotsOf(own)).sort()),
      closed: fold.closed && { event: fold.closed.id, outcome: fold.closed.outcome },
    }];
  })));
}

/** @param {any[]} events @param {any} event */
function counted(events, event) {
  const { reading, unit } = counting(events, event);
  return { reading: reading || null, unit: unit ?? null };
}

/** @param {import("../../site/static/js/rules/types.mjs").WalkFold} walk */
const walkShown = ({ begun, parts, stops, stopped, signed, closed, index, points, languages }) => ({
  subject: begun.subject,
  helper: begun.helper,
  way: begun.way,
  parts: parts.map((part) => ({ phase: part.phase, done: [...part.done.keys()], left: part.left, signed: part.signed?.id ?? null })),
  stops: stops.map(({ no, cleared }) => [no.point, cleared?.id ?? null]),
  stopped: stopped?.point ?? null,
  at: points[index] ?? null,
  languages,
  signed: signed?.id ?? null,
  closed: closed?.id ?? null,
});

if (import.meta.url === pathToFileURL(argv[1] ?? "").href) {
  console.log(JSON.stringify(await shownOf(await takenIn(textOf(argv[2]))), null, 1));
}
