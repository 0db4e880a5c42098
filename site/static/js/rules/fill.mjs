/** @import { BlockFold, BlockKind, FillKind, Step, TarewellEvent } from "./types.mjs" */

import { foldBlock, standingDecisions } from "./block.mjs";
import { inOrder } from "./fold.mjs";
import { correctionsOf, counting, counts } from "./readings.mjs";
import { remaining } from "./timers.mjs";

/*
 * A tank that is filled step by step is worked as a block is, by the same fold. Its deeds have names of their own
 * (`fill_weighed`): whoever reads what blocks weighed, or which people were trained for them, takes none of it for a block's.
 */

const PREFIX = "fill_";

/** How the subjects of fills begin. */
export const FILL = "fill:";

/** @param {string} subject */
export const isOfFill = (subject) => subject.startsWith(FILL);

/** @param {string} id "t-lye.20261201070500" */
export const fillSubject = (id) => FILL + id;

/** "fill:t-lye.20261201070500" -> "t-lye.20261201070500" @param {string} subject */
export const fillOf = (subject) => subject.slice(FILL.length);

/** The tank of a fill, by its id. @param {string} id */
export const tankOf = (id) => id.slice(0, id.lastIndexOf("."));

/** The name under which a fill keeps a deed. @param {BlockKind} kind */
export const ofFill = (kind) => /** @type {FillKind} */ (PREFIX + kind);

/** A deed of a fill under the name that it has at a block; anything else as it is. @param {TarewellEvent} event @returns {TarewellEvent} */
export const asDeed = (event) =>
  event.kind.startsWith(PREFIX) ? { ...event, kind: /** @type {BlockKind} */ (event.kind.slice(PREFIX.length)) } : event;

/** Whether a fill is to be gone on with: its newest event closes it, or not. Taking it over opens none that was closed elsewhere. @param {TarewellEvent[]} events Of it, in order. */
export const isInHand = (events) =>
  events.length > 0 && events.findLast(({ kind }) => kind !== "fill_taken_over")?.kind !== "fill_closed";

/** What was decided about lye that is too warm for its next portion, or that nobody could read. */
export const WAIT_AGAIN = "wait-again";
export const TOO_WARM = "too-warm";
export const UNREAD_WAIT = "unread-wait";
export const UNREAD = "unread";

/** Notes of a temperature that nobody read, and of one whose lye had its time to cool all the same. */
export const NOT_READ = "not-read";
export const BY_CLOCK = "by-clock";

/** The wait behind which lye that nobody can read is asked for again; calc/steps/keys.py has it too. */
const UNREAD_STEP = "wait:unread";

/**
 * A fill as its events leave it: as a block's, but for its end. What is corrected after it was closed opens its closing again,
 * so that the tank's load is put right; the closing that counts is the last.
 *
 * @param {Step[]} steps As issued. @param {TarewellEvent[]} deeds Of the fill, under the names they have at a block.
 * @returns {BlockFold}
 */
export function foldFill(steps, deeds) {
  const ordered = inOrder(deeds);
  const fold = foldBlock(steps, thatHold(ordered));
  const closed = ordered.findLast(({ kind }) => kind === "closed") ?? null;
  if (!closed) return fold;
  const standing = ordered.at(-1) === closed;
  // Whoever stopped it early goes on with none of its steps.
  return { ...fold, closed: standing ? closed : null, stale: false, index: fold.steps.length };
}

/** Without each wait for lye that was too warm whose reading was put right before anything of the wait was done. @param {TarewellEvent[]} ordered */
function thatHold(ordered) {
  const touched = new Set(ordered.filter(({ kind }) => kind !== "decided").map(({ step }) => step));
  return ordered.filter(({ kind, choice, step: about, steps = [] }, n) => {
    const read = ordered.find((event) => event.kind === "checked" && event.step === about);
    const overtaken = kind === "decided" && choice === WAIT_AGAIN && read && correctionsOf(ordered.slice(n), read).length > 0;
    return !overtaken || steps.some(({ key }) => touched.has(key));
  });
}

/** Whether lye of this temperature is too warm for the portion that its step stands before. @param {Step} step @param {number} count */
export const isTooWarm = ({ kind, high }, count) => kind === "temperature" && high !== null && count > high;

/**
 * A temperature that stands last before its portion of caustic. calc/tanks/filled.py judges it alike.
 *
 * @typedef {object} Gate
 * @property {Step} step
 * @property {"" | "cool" | "warm" | "by-clock" | "unread"} warmth   By the reading that counts; "" before it is done.
 * @property {boolean} inside            whether the portion is in the lye
 * @property {string | null} choice      what was decided about it since that reading
 */

/** Every temperature that decides about a portion, in order. @param {BlockFold} fold @param {TarewellEvent[]} deeds @returns {Gate[]} */
export function gates({ steps, done }, deeds) {
  const ordered = inOrder(deeds);
  const decisions = standingDecisions(thatHold(ordered));
  const inPail = steps.some(({ key }) => key === "check:zero");
  /** @type {Gate[]} */
  const found = [];
  /** @type {Step | null} */
  let read = null;
  for (const step of steps) {
    if (step.kind === "temperature") read = step;
    else if (step.kind === "weigh" && step.pour_kind === "alkali" && read) {
      found.push(gate(read, done.has(inPail ? IN_TANK + step.key : step.key), done.get(read.key), ordered, decisions));
      read = null;
    }
  }
  return found;
}

/** How the key of a step begins that puts weighed caustic into the lye; calc/steps/keys.py has it too. */
const IN_TANK = "lye:in:";

/** @param {Step} step @param {boolean} inside @param {TarewellEvent | undefined} event @param {TarewellEvent[]} ordered @param {TarewellEvent[]} decisions @returns {Gate} */
function gate(step, inside, event, ordered, decisions) {
  if (!event) return { step, warmth: "", inside, choice: null };
  const last = counting(ordered, event);
  const count = counts(last.reading ?? "", step.decimals ?? 0);
  const since = decisions.filter((each) => each.step === step.key && ordered.indexOf(each) > ordered.indexOf(last));
  const unread = event.note === BY_CLOCK ? BY_CLOCK : "unread";
  const warmth = !last.reading ? unread : count === null || isTooWarm(step, count) ? "warm" : "cool";
  return { step, warmth, inside, choice: since.at(-1)?.choice ?? null };
}

/** The gate whose portion is not in yet, though its lye was too warm or unread and nobody has decided about that. @param {BlockFold} fold @param {TarewellEvent[]} deeds */
export const openGate = (fold, deeds) =>
  gates(fold, deeds).find(({ warmth, inside, choice }) => (warmth === "warm" || warmth === "unread") && !inside && choice === null)?.step ?? null;

/**
 * How long lye that nobody can read still has to stand until its next portion may go in [s], by the time that was frozen with the
 * step: from the portion before, at its hottest and slowest. Below zero once it is over. null where no time holds: nothing went in
 * that could be counted from, a portion before went in too warm or unread, or the clock can't be trusted.
 *
 * @param {BlockFold} fold @param {TarewellEvent[]} deeds @param {Step} step @param {number} now [ms]
 */
export function leftUnread(fold, deeds, step, now) {
  const ahead = fold.steps.slice(0, fold.steps.findIndex(({ key }) => key === step.key));
  const last = ahead.findLast(({ key }) => key.startsWith(IN_TANK));
  const went = last && fold.done.get(last.key);
  const before = gates(fold, deeds).filter((each) => ahead.some(({ key }) => key === each.step.key));
  if (!went || step.seconds === null || before.some(({ warmth }) => warmth !== "cool" && warmth !== BY_CLOCK)) return null;
  const { seconds, clockBack, longOver } = remaining(went, step.seconds, now, inOrder(deeds).at(-1));
  return clockBack || longOver ? null : seconds;
}

/**
 * What comes behind a reading that was too warm: a wait, then the same reading anew. Of a fill planned before it was frozen
 * with one, the wait is that of its own portions.
 *
 * @param {Step[]} steps As they stand now, as frozen. @param {Step} step The one that was read. @param {Step[]} cooling Of the issued fill.
 * @returns {Step[]}
 */
export function readAgain(steps, step, cooling) {
  const again = anew(steps, step);
  const wait = cooling[0] ?? steps.find(({ kind }) => kind === "timer");
  return wait ? [{ ...wait, key: `wait:${again.key}` }, again] : [again];
}

/**
 * What comes behind a temperature that nobody could read: what is left of its time, then the same question anew.
 *
 * @param {Step[]} steps @param {Step} step @param {Step[]} cooling As above. @param {number} seconds
 * @returns {Step[]}
 */
export function readLater(steps, step, cooling, seconds) {
  const again = anew(steps, step);
  const wait = cooling.find(({ key }) => key === UNREAD_STEP);
  return wait ? [{ ...wait, key: `wait:${again.key}`, seconds: Math.ceil(seconds) }, again] : [again];
}

/** The same question once more, under a key of its own. @param {Step[]} steps @param {Step} step @returns {Step} */
function anew(steps, step) {
  const of = /^lye:temp:\d+/.exec(step.key)?.[0] ?? step.key;
  const n = steps.filter(({ key }) => key === of || key.startsWith(`${of}:`)).length;
  return { ...step, key: `${of}:${n}` };
}
