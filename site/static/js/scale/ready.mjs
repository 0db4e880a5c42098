import { app, reload, start } from "../frame/app.mjs";
import { screen } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { keepWayBack } from "../frame/way_back.mjs";
import { whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { asDeed } from "../rules/fill.mjs";
import { answerOf, barHere, bars, handlesLye, isInMidBlock, isInOrder, ownCover, saidHere, standing, takenOver, withoutQuestion } from "../rules/lye_training.mjs";
import { dailyOf, isReady, openStops, trainings } from "../rules/training.mjs";
import { foldWalks } from "../rules/walk.mjs";
import { dailyFor } from "../safety/daily.mjs";
import { eyewashAnswered, notHeld, renewEyewash } from "../safety/eyewash_state.mjs";
import { phaseName, placePoints, required, wordsIn } from "../safety/points.mjs";
import { trainingMonths } from "../safety/shop.mjs";
import { readWalks } from "../safety/walks_read.mjs";
import { clock, dayOn, utc } from "../store/clock.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { mode } from "../store/mode.mjs";
import { answersSince } from "../store/standing.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { items, weighings } from "./view.mjs";

/** @import { Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */
/** @import { Readiness, Said } from "../rules/lye_training.mjs" */

/**
 * Read anew each time the question comes up: somebody may have signed or set the months meanwhile, and a day may have ended.
 *
 * @typedef {Readiness & {left: string[], unset: boolean, failed: string}} Found
 *   left: of a daily check that was begun, the points that wait for their answer.
 */

/** @typedef {{form?: "solid" | "premixed", relative: [string, number][]}} Alkali */

/** Sheets from before its form stood by itself tell it by what its papers state. @type {Record<string, "solid" | "premixed">} */
const FORM_BY_WHAT_IS_STATED = { assay: "solid", strength: "premixed" };

/** @param {Alkali} alkali */
const formsOf = ({ form, relative }) => form ?? relative.map(([what]) => FORM_BY_WHAT_IS_STATED[what]);

/** What is done with lye here, in the phases of the safety walk: solid caustic is dissolved, premixed lye drawn off. @param {BlockAtScale} block */
function phasesOf({ fold, issued }) {
  if (issued.phases) return issued.phases;
  /** @type {Alkali[]} */
  const alkalis = issued.chemistry?.alkalis ?? [];
  const forms = alkalis.flatMap(formsOf);
  const solid = forms.includes("solid") || fold.steps.some(({ key }) => key === "lye:dissolve");
  const premixed = forms.includes("premixed") || !solid;
  return ["before", "protection", ...(solid ? ["weigh", "dissolve"] : []), ...(premixed ? ["tank"] : []), "mix"];
}

/** @param {TarewellEvent} event */
const isToday = ({ at }) => dayOn(Date.parse(at)) === dayOn();

/** Whether this person has done today's daily check, as far as the block knows. @param {BlockAtScale} block */
export function dailyIsHeld(block) {
  const waiting = carried.get(block);
  return (waiting?.person === block.person ? waiting.fields : answerHere(block))?.daily === "held";
}

/** @param {BlockAtScale} block */
const answerHere = ({ events, person }) => saidHere(events, person, isToday, clock.now());

/** What goes with a block without a question, by who is at its scale; stored with that person's first deed. @type {WeakMap<BlockAtScale, {person: string, fields: Partial<TarewellEvent>}>} */
const carried = new WeakMap();

/**
 * Asked of each who weighs the block before anything is in the vessel. Whoever takes it over later is looked up without a
 * question, as long as lye is still to come: between warm oil and lye nobody is asked.
 *
 * @param {BlockAtScale} block
 */
export function asksReady(block) {
  const { fold, hold, person } = block;
  if (!hold.held || !fold.steps.some((step) => !fold.done.has(step.key) && handlesLye(step))) return false;
  return !answerHere(block) && carried.get(block)?.person !== person;
}

/** Those of the place are heeded here. @param {TarewellEvent[]} events Of all walks. */
const stopsOf = (events) => openStops(events, required(), [], placePoints());

/** @param {BlockAtScale} block @returns {Promise<Found>} */
async function lookUp(block) {
  try {
    await start();
    await reload();
    await renewEyewash();
    const months = trainingMonths();
    const events = await readWalks(months);
    const record = { all: trainings(events, months), stops: stopsOf(events), required: required() };
    const begun = dailyOf(foldWalks(events), block.person, dayOn());
    const daily = isReady(begun) ? "held" : "missing";
    const left = begun && daily === "missing" ? begun.points.filter((point) => !begun.done.has(point)) : [];
    return { ...standing(record, phasesOf(block), dayOn(), block.person), daily, left, eyewash: notHeld(), unset: months === null, failed: "" };
  } catch (error) {
    const failed = error instanceof Error ? error.message : String(error);
    return { helpers: [], stop: "", place: "", daily: "missing", left: [], eyewash: notHeld(), unset: false, failed };
  }
}

/** What was weighed into the vessel: the steps at which the display may stand untared. Into a tank all goes. @param {BlockAtScale} block */
const inVessel = ({ fold, issued }) => weighings(fold).filter(({ step }) => issued.tank || step.gross_text !== null).map(({ event }) => event);

/** How long ago an answer of today can have been given at most, by whatever clock. [ms] */
const LATELY = 48 * 3_600_000;

/** The answers to it of today, before blocks and before tanks are filled. @param {number} [limit] [ms] */
const answersGiven = async (limit) =>
  ((await answersSince(utc(clock.now() - LATELY), limit)) ?? (await eventsOfKinds(["trained", "fill_trained"], limit))).map(asDeed);

/** @param {BlockAtScale} block */
export function showReady(block) {
  const here = () => Boolean(block.stage.place.dataset.shown?.startsWith("ready"));
  if (!here()) block.stage.show("ready-looking");
  void lookUp(block).then(async (found) => {
    const events = await untilRead(answersGiven);
    // Meanwhile something else may be asked, or have been answered.
    if (!block.open || block.aside || !here() || !asksReady(block)) return;
    const known = found.failed ? null : withoutQuestion(found, block.person, answerOf(events, block.person, isToday));
    const midBlock = isInMidBlock(inVessel(block), isToday, clock.now());
    const said = known ?? (midBlock ? takenOver(found, block.person, word("took-over")) : null);
    if (!said) return draw(block, found);
    carried.set(block, { person: block.person, fields: withState(said, found) });
    block.show();
  });
}

/** What the question shows. @type {WeakMap<BlockAtScale, Found>} */
const drawn = new WeakMap();

/** @param {BlockAtScale} block @param {Found} found */
function draw(block, found) {
  const { helpers, stop, place, daily, left, eyewash, unset, failed } = found;
  const own = ownCover(found, block.person);
  const people = (own ? [] : helpers).map(({ helper: name }) => {
    const part = screen("ready-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  keepWayBack(block.called);
  const missing = own === undefined || !isInOrder({ ...found, stop: "" });
  // Practice shows what a real day asks, and goes on without it: who isn't trained yet is who practices.
  const practice = mode === "practice" && missing;
  block.stage.show("ready", {
    person: block.person,
    stopped: stop && !place && block.person,
    place: placeName(place),
    stop: walkLink(stop),
    "daily-held": daily === "held",
    "daily-missing": daily === "missing" && left.length === 0,
    "daily-left": left.map((point) => inPageLanguage(wordsIn(`template[data-daily-point="${CSS.escape(point)}"]`)) || point).join(", "),
    "daily-do": daily === "missing" && !practice,
    "eyewash-held": Object.keys(eyewash).length === 0,
    // Who practices is told of no check that was never done; the line isn't to stand empty.
    "eyewash-practice": !app.own && Object.keys(eyewash).length > 0 && Object.values(eyewash).every((state) => state === "never"),
    own: own?.until,
    walk: !own,
    some: people.length > 0,
    nobody: helpers.length === 0 && (!unset || practice) && !failed,
    unset: unset && !practice,
    parts: !practice,
    failed,
    missing: missing && !practice,
    practice,
    "lye-shut": !missing,
  }, { people, phases: items(phasesOf(block).map(nameOf)) });
  drawn.set(block, found);
  block.stage.lock(!block.hold.held);
  keepReason(block);
}

/** The address of a walk, as the page's own links to the safety pages have it. @param {string} subject */
const walkLink = (subject) => {
  const page = document.querySelector("template[data-safety-page]")?.getAttribute("data-safety-page") ?? "";
  return subject && `${page}#${subject.slice("walk:".length)}`;
};

/** Words of both languages in that of this page. @param {DocumentFragment} words */
const inPageLanguage = (words) => words.querySelector(`.${document.documentElement.lang}`)?.textContent ?? "";

/** A phase's name. @param {string} phase */
const nameOf = (phase) => inPageLanguage(phaseName(phase)) || phase;

/** The name of a point whose stop is of the place; "" where none is open. @param {string} point */
const placeName = (point) => point && inPageLanguage(wordsIn(`template[data-place-point="${CSS.escape(point)}"]`));

/** What keeps who is at the scale from lye, as far as it is known: "" where no stop is open. @type {WeakMap<BlockAtScale, {person: string, stop: string, place: string}>} */
const stops = new WeakMap();

/** Whether lye waits: a stop of this person or of the place is open. @param {BlockAtScale} block @param {Step} step */
export function isBarred(block, step) {
  if (!block.hold.held || !handlesLye(step)) return false;
  const known = stops.get(block);
  return known?.person === block.person && bars(known.stop, answerHere(block));
}

/** @param {BlockAtScale} block */
export function showBarred(block) {
  keepWayBack(block.called);
  const { stop = "", place = "" } = stops.get(block) ?? {};
  block.stage.show("barred", { person: block.person, own: !place, place: placeName(place), stop: walkLink(stop) });
}

/** Looks up whether an open stop keeps who is at the scale from lye, and shows it or takes it away where lye is in hand. @param {BlockAtScale} block */
export async function renewStop(block) {
  const { person } = block;
  if (person === "" || block.fold.closed) return;
  const events = await readWalks(null);
  const before = block.step && isBarred(block, block.step);
  stops.set(block, { person, ...barHere(stopsOf(events), person, phasesOf(block)) });
  if (block.open && !block.aside && block.step && isBarred(block, block.step) !== before) block.show();
}

/** Something was stored elsewhere: it may be a walk, or the months that a training holds. @param {BlockAtScale} block */
export async function readinessChanged(block) {
  await renewStop(block);
  if (block.stage.place.dataset.shown !== "ready") return;
  // Under somebody's fingers nothing is drawn anew without need.
  if (JSON.stringify(await lookUp(block)) !== JSON.stringify(drawn.get(block))) showReady(block);
}

/** What goes into the block's record before the first deed of who is at its scale. @param {BlockAtScale} block */
export function takeCarried(block) {
  const waiting = carried.get(block);
  carried.delete(block);
  return waiting?.person === block.person ? waiting.fields : null;
}

/** What was said about it, for the closing of a block. @param {BlockAtScale} block */
export const trainingLines = ({ events }) =>
  events.filter(({ kind }) => kind === "trained").map(({ helper, until, reason, stopped, eyewash, daily, person, local }) => {
    const item = document.createElement("li");
    const amiss = Object.fromEntries(Object.entries(eyewash ?? {}).map(([which, state]) => [`${which}-${state}`, true]));
    const slots = { helper, until, stopped, person, reason: !helper && reason, why: helper && reason, time: whenWords(local) };
    item.append(screen("trained-line", { ...slots, ...amiss, unchecked: daily === "missing" }));
    return item;
  });

/** Reads for which missing checks of the eyewash a reason was given today. */
export async function readAnswered() {
  eyewashAnswered((await untilRead(answersGiven, () => [])).filter(isToday));
}

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const READY_DEEDS = {
  "daily-check": async (block) => {
    const { subject } = await dailyFor(block.person, document.documentElement.lang);
    location.assign(walkLink(subject));
  },
  trained: async (block, button) => {
    const found = await lookUp(block);
    const held = found.helpers.find(({ helper }) => helper === button.dataset.name);
    if (!held || isNews(block, found)) return showReady(block);
    await answer(block, found, held);
  },
  ready: async (block) => {
    const found = await lookUp(block);
    if (isNews(block, found)) return showReady(block);
    await answer(block, found, ownCover(found, block.person) ?? { helper: null });
  },
};

/** Whether anything is missing, or a stop open, that the screen does not tell. @param {BlockAtScale} block @param {Found} found */
function isNews(block, found) {
  const told = drawn.get(block);
  const parts = (/** @type {Found | undefined} */ of) => JSON.stringify([of?.stop, of?.place, of?.daily, of?.eyewash, of?.helpers]);
  return parts(found) !== parts(told);
}

/** @param {BlockAtScale} block @param {Found} found @param {{helper: string | null, until?: string}} trained */
async function answer(block, found, trained) {
  const inOrder = isInOrder({ ...found, stop: "" }) && trained.helper !== null;
  const reason = inOrder ? null : mode === "practice" ? word("practiced") : reasonGiven(block);
  if (reason === "") return block.stage.find('input[name="reason"]')?.scrollIntoView({ block: "center" });
  // What could not be looked up clears no stop that is known.
  if (!found.failed) stops.set(block, { person: block.person, stop: found.stop, place: found.place });
  if (!(await block.store("trained", withState({ ...trained, reason }, found)))) return;
  await readAnswered();
  await block.draft.forget([], ["ready:"]);
  block.show();
}

/** How daily check and eyewash stood is kept with it, and the walk whose open stop barred the lye. @param {Said} said @param {Readiness} found @returns {Partial<TarewellEvent>} */
const withState = (said, { daily, eyewash, stop }) => ({
  ...said,
  daily,
  ...(stop === "" ? {} : { stopped: stop }),
  ...(Object.keys(eyewash).length > 0 ? { eyewash } : {}),
});
