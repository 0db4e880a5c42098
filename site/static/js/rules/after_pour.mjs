import { foldAfter } from "./block.mjs";
import { compare, inOrder } from "./fold.mjs";
import { instantOf } from "./timers.mjs";

/** @import { BlockFold, Step, TarewellEvent } from "./types.mjs" */

/*
 * A block after the pour: what of it is due from when, and in which order several blocks of a day are worked. The record of
 * the weighing is closed at the pour; this part follows it, and a shop that leaves it untouched is asked for nothing.
 */

/** The keys of its steps that rules go by. */
export const [COVERED, GEL, LIFT, DEMOULD, LOAVES, SKIM, FRAME, BARS, GOOD] =
  ["after:cover", "after:gel", "after:lift", "after:demould", "after:loaves", "after:skim", "after:frame", "after:bars", "after:good"];

/**
 * @typedef {object} AfterPour  One block after the pour.
 * @property {string} subject
 * @property {TarewellEvent} issued
 * @property {TarewellEvent[]} events  All of the block.
 */

/** @param {AfterPour} block */
export const afterOf = ({ issued, events }) => foldAfter(issued.after ?? [], events);

/** Whether it goes on after the pour: poured and closed, by a sheet that has this part. @param {AfterPour} block */
export const goesOn = ({ issued, events }) =>
  (issued.after ?? []).length > 0 && events.find(({ kind }) => kind === "closed")?.outcome === "poured";

/** Whether anything of it was told yet. @param {BlockFold} fold */
export const isBegun = (fold) => fold.done.size > 0;

/** Whether something of it is still to do. @param {BlockFold} fold */
export const isOpen = (fold) => fold.ended === null && fold.index < fold.steps.length;

/** When it was poured; sheets of every age have that step, and what was closed without it was poured then. @param {TarewellEvent[]} events [ms] */
export function pouredAt(events) {
  const poured = events.find(({ kind, step }) => kind === "checked" && step === "pour") ?? events.find(({ kind }) => kind === "closed");
  return poured ? instantOf(poured) : 0;
}

/**
 * @typedef {{id: string, at: string, of_formula?: string, in_mould?: string, cover?: string, seconds?: number}} Lifted  How long a block stood in its mould.
 */

/**
 * How long such a block stays in its mould: the middle of the workshop's own of this formula, mould and cover, and the
 * shortest and longest of them. Until there are enough of them it is what the sheet says, and `own` is 0.
 *
 * @param {Lifted[]} lifted Of the newest blocks.
 * @param {{formula: string, mould: string, cover: string}} of
 * @param {number} usual [s]
 * @param {number} least How many make a habit.
 */
export function inMould(lifted, of, usual, least) {
  const own = inOrder(lifted)
    .filter((event) => event.of_formula === of.formula && event.in_mould === of.mould && event.cover === of.cover)
    .map(({ seconds = 0 }) => seconds)
    .sort((a, b) => a - b);
  if (own.length < least) return { seconds: usual, own: 0, low: 0, high: 0 };
  const [below = 0, above = 0] = [own[(own.length - 1) >> 1], own[own.length >> 1]];
  return { seconds: Math.round((below + above) / 2), own: own.length, low: own[0] ?? 0, high: own.at(-1) ?? 0 };
}

/** By what such blocks are told from others. @param {AfterPour} block @param {BlockFold} [fold] */
export const kindOf = (block, fold = afterOf(block)) => ({ formula: block.issued.formula?.name ?? "", mould: block.issued.mould?.name ?? "", cover: fold.done.get(COVERED)?.cover ?? "" });

/** @param {AfterPour} block @param {BlockFold} fold @param {Lifted[]} lifted @param {number} least */
export function unmouldFrom(block, fold, lifted, least) {
  const { events } = block;
  const found = inMould(lifted, kindOf(block, fold), fold.steps.find(({ key }) => key === LIFT)?.seconds ?? 0, least);
  return { ...found, at: pouredAt(events) + 1000 * found.seconds };
}

/** The keys of a stage are done block by block; all of one stage before any of the next: common practice, no source. */
const STAGES = [[COVERED, GEL], [LIFT, DEMOULD, LOAVES, SKIM], [FRAME, BARS]];

/** @param {string} key */
export const stageOf = (key) => {
  const found = STAGES.findIndex((keys) => keys.includes(key));
  return found < 0 ? STAGES.length - 1 : found;
};

/**
 * @typedef {object} Deed       What is next at a block.
 * @property {AfterPour} block
 * @property {Step} step
 * @property {number} at        from when [ms]
 * @property {number} stage
 * @property {boolean} begun    something of this stage is done
 */

/** What is next at a block; null where nothing is. @param {AfterPour} block @param {Lifted[]} lifted @param {number} least @returns {Deed | null} */
export function deedOf(block, lifted, least) {
  const fold = afterOf(block);
  const step = fold.steps[fold.index];
  if (!goesOn(block) || !step || !isOpen(fold)) return null;
  const stage = stageOf(step.key);
  const begun = fold.steps.some(({ key }) => fold.done.has(key) && stageOf(key) === stage);
  const poured = pouredAt(block.events);
  const waits = step.key === LIFT ? unmouldFrom(block, fold, lifted, least).at : step.key === GEL ? poured + 1000 * (step.seconds ?? 0) : 0;
  const last = [...fold.done.values()].map(instantOf).at(-1) ?? poured;
  return { block, step, at: waits || last, stage, begun };
}

/**
 * The deeds of several blocks in the order of work: what can be done now, stage by stage and in each block by block, one that
 * is begun first; then what can be done later, the soonest first.
 *
 * @param {Deed[]} deeds @param {number} now [ms] @returns {Deed[]}
 */
export function inOrderOfWork(deeds, now) {
  const later = (/** @type {Deed} */ { at }) => Number(at > now);
  return [...deeds].sort((a, b) =>
    later(a) - later(b) ||
    (later(a) ? a.at - b.at : a.stage - b.stage || Number(b.begun) - Number(a.begun) || pouredAt(a.block.events) - pouredAt(b.block.events)) ||
    compare(a.block.subject, b.block.subject));
}

/**
 * The check of the bar frame that still holds: of this day, and no loaf cut since.
 *
 * @param {TarewellEvent[]} events Of all blocks of the day. @param {(event: TarewellEvent) => boolean} isToday
 */
export function frameThatHolds(events, isToday) {
  const told = inOrder(events.filter(({ kind, step }) => kind === "checked" && (step === FRAME || step === LOAVES)));
  const last = told.at(-1);
  return last?.step === FRAME && isToday(last) ? last : null;
}
