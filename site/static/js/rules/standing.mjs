import { LIFT } from "./after_pour.mjs";
import { blockOf } from "./block.mjs";
import { inOrder } from "./fold.mjs";
import { CURE_KINDS, UPKEEP_KINDS } from "./kinds.mjs";
import { BLEND } from "./log.mjs";
import { lotKey } from "./lot_key.mjs";
import { AT_CUTTER, everRacked, isRacking } from "./racks.mjs";
import { asideOf } from "./set_aside.mjs";
import { racksDensity } from "./set_soap.mjs";
import { SWITCH_KINDS } from "./switches.mjs";
import { standing } from "./taken_back.mjs";
import { openStops } from "./training.mjs";
import { upkeepThatTells } from "./upkeep.mjs";

/** @import { Kind, Standing, TarewellEvent } from "./types.mjs" */

/*
 * What stands of one thing, by all that was ever told of it: of the bars of a block, of a walk, a tank, its fill, a scale, a task
 * of upkeep. Pages that ask what is open now, or of late, read these small entries and not years of events. Pure and total,
 * like all folds. A block's bars have theirs also where no sheet of the batch is on this device, so that the batch log can't
 * stand for it.
 */

/** Raised whenever an entry holds other things than before: those of an older fold are made anew. */
export const STANDING_FOLD = 1;

/** What all subjects about one block's bars begin with. */
const OF_BLOCK = ["block", "cure", "aside", "release"];

/** What other things that have an entry begin with: it is their own subject. */
const ALONE = ["walk", "contents", "upkeep_log", "scale_check", "fill"];

export const ABOUT_STANDING = [...OF_BLOCK, ...ALONE];

/** Of what is told at the scale and at the cutter, all that an entry hangs on. @type {Kind[]} */
const OF_BARS = ["trained", "weighed", "corrected", "closed", "covered", "lifted", "measured", AT_CUTTER];

/** By which somebody says who is trained: of a block, and of a tank that is filled. @type {Kind[]} */
const TRAINED = ["trained", "fill_trained"];

/** Of whose entry this subject is; null where it has none. @param {string} subject */
export function standsFor(subject) {
  const colon = subject.indexOf(":");
  const room = subject.slice(0, colon);
  if (ALONE.includes(room)) return subject;
  return OF_BLOCK.includes(room) ? `block:${subject.slice(colon + 1)}` : null;
}

/** Whose entry this event may change; null where it changes none. @param {{kind: string, subject: string}} event */
export function changes({ kind, subject }) {
  if (subject.startsWith("block:") && !OF_BARS.some((each) => each === kind)) return null;
  if (subject.startsWith("fill:") && !TRAINED.some((each) => each === kind)) return null;
  if (subject.startsWith("contents:") && !SWITCH_KINDS.some((each) => each === kind)) return null;
  return standsFor(subject);
}

/** All subjects that an entry is made of. @param {string} key */
export const subjectsOf = (key) => (key.startsWith("block:") ? OF_BLOCK.map((room) => room + key.slice("block".length)) : [key]);

/**
 * @param {string} key @param {TarewellEvent[]} events All of its subjects.
 * @returns {Standing | null} null where nothing stands that anybody asks for
 */
export function standingOf(key, events) {
  const facts = factsOf(key, inOrder(events));
  return Object.keys(facts).length > 0 ? { key, fold: STANDING_FOLD, ...facts } : null;
}

/** @param {string} key @param {TarewellEvent[]} events In order. @returns {Partial<Standing>} */
function factsOf(key, events) {
  if (key.startsWith("block:")) return { ...answered(events), ...drew(events), ...closed(events), ...lifted(events), ...density(events), ...usual(events), ...onRack(events), ...barred(events), ...setAside(events) };
  if (key.startsWith("fill:")) return answered(events);
  const last = events.at(-1)?.at ?? "";
  if (key.startsWith("walk:")) return { walked: last, ...(openStops(events, {}).length > 0 ? { stopped: last } : {}) };
  const told = key.startsWith("scale_check:") ? ofLastDays(events) : key.startsWith("contents:") ? switchesThatTell(events.filter(({ kind }) => SWITCH_KINDS.some((each) => each === kind))) : upkeepThatTells(events.filter(({ kind }) => UPKEEP_KINDS.some((each) => each === kind)));
  return told.length > 0 ? { told } : {};
}

/** Who was said to be trained, lately. @param {TarewellEvent[]} events */
function answered(events) {
  const told = ofLastDays(events.filter(({ kind }) => TRAINED.some((each) => each === kind)));
  return told.length > 0 ? { trained: told.at(-1)?.at ?? "", answers: told.map(({ id }) => id) } : {};
}

/** What is proposed at the next block: what it was covered with, and where its trays stand. @param {TarewellEvent[]} events */
function usual(events) {
  const [covered, shelved] = ["covered", AT_CUTTER].map((each) => events.findLast(({ kind }) => kind === each));
  return {
    ...(covered ? { covered: /** @type {[string, string]} */ ([covered.at, covered.id]) } : {}),
    ...(shelved ? { shelved: /** @type {[string, string]} */ ([shelved.at, shelved.id]) } : {}),
  };
}

/** How a draw is found: by its lot, however it was typed, "" for a blend of oils out of a tank, and by when it was. No lot has a line of its own. @param {string} lot @param {string} at */
export const drawKey = (lot, at) => `${lotKey(lot)}\n${at}`;

/** What was weighed of lots and of blends, and what puts readings right. @param {TarewellEvent[]} events */
function drew(events) {
  const keys = events.flatMap(({ kind, id, at, lot, step = "" }) => (kind === "weighed" ? [...(lot ? [lot] : []), ...(step.endsWith(BLEND) ? [""] : [])] : []).map((each) => `${drawKey(each, at)} ${id}`));
  const corrected = events.filter(({ kind }) => kind === "corrected").map(({ id }) => id);
  return { ...(keys.length > 0 ? { drew: keys } : {}), ...(corrected.length > 0 ? { corrected } : {}) };
}

/** Where its bars are; "lost" where something was told of them and no rack: in practice, of bars that the app came with. @param {TarewellEvent[]} events */
function onRack(events) {
  const told = events.filter(({ kind }) => kind === AT_CUTTER || CURE_KINDS.some((each) => each === kind));
  const about = standing(told);
  const first = about.find(isRacking) ?? told[0];
  if (!first) return {};
  const [batch] = everRacked(about);
  const { soap, cut, weigh, ready } = batch ?? {};
  const cutter = about.filter(({ kind }) => kind === AT_CUTTER).map(({ id }) => id);
  return {
    rack: /** @type {Standing["rack"]} */ ([!batch ? "lost" : batch.off ? "off" : "on", first.at, first.id]),
    ...(batch ? { bars: { soap: soap ?? "", cut: cut ?? "", weigh: weigh ?? "", ready: ready ?? "" } } : {}),
    ...(cutter.length > 0 ? { cutter } : {}),
  };
}

/** Whether its bars are not for sale, by the last decision that stands: nobody waits for them to dry. @param {TarewellEvent[]} events */
function barred(events) {
  const last = standing(events).findLast(({ kind }) => kind === "released" || kind === "rejected" || kind === "reworked");
  return last && last.kind !== "released" ? { barred: /** @type {const} */ (true) } : {};
}

/** @param {TarewellEvent[]} events */
function setAside(events) {
  const newest = asideOf(events);
  return newest ? { aside: /** @type {[string, string]} */ ([newest.at, newest.id]) } : {};
}

/** When its record was closed, by the clock there, to the second. @param {TarewellEvent[]} events */
function closed(events) {
  const first = events.find(({ kind }) => kind === "closed");
  return first ? { closed: first.local.slice(0, 19) } : {};
}

/** How long it stood in its mould: of two phones' words the first counts. @param {TarewellEvent[]} events */
function lifted(events) {
  const first = events.find(({ kind, step }) => kind === "lifted" && (step ?? LIFT) === LIFT);
  if (!first) return {};
  const { of_formula: formula, in_mould: mould, cover, seconds = 0, at, id } = first;
  return [formula, mould, cover].every((each) => typeof each === "string") ? { lifted: /** @type {Standing["lifted"]} */ ([formula, mould, cover, at, id]), seconds } : {};
}

/** @param {TarewellEvent[]} events */
function density(events) {
  const { of_formula: name, density_g_per_ml: density, at = "", id = "" } = racksDensity(events) ?? {};
  return name && density ? { soap: /** @type {Standing["soap"]} */ ([name, at, id]), density } : {};
}

/** The days on which something still tells of today, wherever on earth: of an instant one more. */
const DAYS = 2;

/** What was told on the last days on which anything was: by the clock there, and by its instant, since a clock may have been set back. @param {TarewellEvent[]} events */
function ofLastDays(events) {
  const last = (/** @type {string[]} */ all, /** @type {number} */ days) => new Set([...new Set(all.map((each) => each.slice(0, 10)))].sort().slice(-days));
  const [there, instants] = [last(events.map(({ local }) => local), DAYS), last(events.map(({ at }) => at), DAYS + 1)];
  return events.filter(({ local, at }) => there.has(local.slice(0, 10)) || instants.has(at.slice(0, 10)));
}

/**
 * Of one tank what its switch-ons go by: of each kind the newest, and the newest that stands, all of the last days, and what
 * takes one of those or is taken by it.
 *
 * @param {TarewellEvent[]} events In order. @returns {TarewellEvent[]}
 */
function switchesThatTell(events) {
  const newest = (/** @type {TarewellEvent[]} */ told) => new Map(told.map((event) => [event.kind, event.id])).values();
  const found = new Set([...newest(events), ...newest(standing(events)), ...ofLastDays(events).map(({ id }) => id)]);
  for (let before = -1; before !== found.size; ) {
    before = found.size;
    for (const { id, takes } of events) {
      if (takes && found.has(takes)) found.add(id);
      else if (takes && found.has(id)) found.add(takes);
    }
  }
  return events.filter(({ id }) => found.has(id));
}

/** What is on a rack, as lists and Today read it. @param {Standing} entry @returns {import("./racks.mjs").OnRack} */
export function asOnRack({ key, rack, bars }) {
  const [code, block] = blockOf(key);
  const { soap = "", cut = "", weigh = "", ready = "" } = bars ?? {};
  return { id: `${code}:${block}`, code, block, soap, cut, weigh, ready, off: rack?.[0] === "off" };
}
