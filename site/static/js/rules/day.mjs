import { BARS, goesOn, LIFT, unmouldFrom } from "./after_pour.mjs";
import { foldAfter } from "./block.mjs";
import { compare } from "./fold.mjs";
import { comesBlended } from "./tanks.mjs";

/** @import { DayEntry, TarewellEvent } from "./types.mjs" */

/** The plan of each day that has one: the newest, and none once it was dropped. @param {TarewellEvent[]} events In order. @returns {Map<string, TarewellEvent>} */
export function plansOf(events) {
  /** @type {Map<string, TarewellEvent>} */
  const found = new Map();
  for (const event of events) {
    const day = event.subject.slice("day:".length);
    if (event.kind === "day_planned") found.set(day, event);
    else if (event.kind === "day_dropped") found.delete(day);
  }
  return found;
}

/** An entry's instant, by the clock of where it is read: a plan is for the workshop's own wall. @param {DayEntry} entry [ms] */
export const atOf = ({ at }) => Date.parse(at);

/** So long after its time an entry that nobody can tell as done is still told. [ms] */
const STANDS = 60 * 60_000;
/** How many of a plan are told at a time. */
const TOLD = 3;

/** Whether its events tell that an entry is done. @param {DayEntry} entry @param {TarewellEvent[]} events Of its block. */
function isDone({ kind }, events) {
  if (kind === "make") return events.some((event) => ["checked", "weighed", "timed"].includes(event.kind));
  if (kind === "unmould") return events.some((event) => event.kind === "lifted");
  return kind === "bars" && events.some(({ step }) => step === BARS);
}

/**
 * The next entries of a plan. What is done falls out; by how much the newest of the done ones came late, all later ones of
 * the same day are late, and none is told for an instant that is over.
 *
 * @param {DayEntry[]} entries @param {(subject: string) => TarewellEvent[]} eventsOf @param {number} now [ms]
 * @returns {{entry: DayEntry, at: number, late: boolean}[]}
 */
export function comingUp(entries, eventsOf, now) {
  const ordered = [...entries].sort((a, b) => compare(a.at, b.at));
  const done = ordered.filter((entry) => entry.subject !== "" && isDone(entry, eventsOf(entry.subject)));
  const newest = done.at(-1);
  const late = newest ? Math.max(0, begun(newest, eventsOf(newest.subject)) - atOf(newest)) : 0;
  return ordered
    .filter((entry) => !done.includes(entry) && (entry.subject !== "" || now <= atOf(entry) + late + STANDS))
    .slice(0, TOLD)
    .map((entry) => ({ entry, at: atOf(entry) + (newest && entry.at > newest.at ? late : 0), late: late > 0 }));
}

/**
 * @typedef {object} Worked      What a day's work has come to.
 * @property {DayEntry[]} entries  of its plan
 * @property {{subject: string, soap: string, events: TarewellEvent[]}[]} blocks  of the newest sheets, with what was told of each
 * @property {string} ends         when work should end there, "17:00"
 *
 * Whether a day's work is over: all of its plan is done, or its end has passed with nothing in hand and nothing planned for later.
 * A block of a formula that had no sheet when the plan was kept is any of that soap begun that day.
 *
 * @param {Worked} worked @param {string} now By the clock there, "2026-12-01T17:05".
 */
export function isDayOver({ entries, blocks, ends }, now) {
  const [day = "", time = ""] = now.split("T");
  const today = blocks.filter(({ events }) => events.some(({ local }) => local.slice(0, 10) === day));
  const isClosed = (/** @type {{events: TarewellEvent[]}} */ { events }) => events.some(({ kind }) => kind === "closed");
  if (today.some((block) => !isClosed(block))) return false;
  const named = new Set(entries.map(({ subject }) => subject));
  const spare = today.filter(({ subject, events }) => !named.has(subject) && events[0]?.local.slice(0, 10) === day);
  const jobs = entries.filter(({ kind }) => kind === "make" || kind === "unmould" || kind === "bars");
  const left = jobs.filter((entry) => {
    if (entry.subject === "") {
      const made = spare.findIndex(({ soap }) => soap === entry.soap);
      return made < 0 || spare.splice(made, 1).length === 0;
    }
    const own = blocks.find(({ subject }) => subject === entry.subject);
    return !own || !(entry.kind === "make" ? isClosed(own) : isDone(entry, own.events));
  });
  if (jobs.length > 0 && left.length === 0) return true;
  return time >= ends && left.every(({ at }) => at <= now);
}

/** When an entry that is done was begun. @param {DayEntry} entry @param {TarewellEvent[]} events [ms] */
function begun(entry, events) {
  const first = events.find((event) => isDone(entry, [event]));
  return first ? Date.parse(first.local) : atOf(entry);
}

/** The number of a block, as its subject has it. @param {{subject: string}} of */
const numberOf = ({ subject }) => subject.slice(subject.lastIndexOf("/") + 1);

/** The blocks of a sheet that go on after their pour. @param {TarewellEvent} issued @param {TarewellEvent[]} events Of all its blocks. @returns {import("./after_pour.mjs").AfterPour[]} */
export const pouredOf = (issued, events) =>
  [...new Set(events.map(({ subject }) => subject))].map((subject) => ({ subject, issued, events: events.filter((event) => event.subject === subject) })).filter(goesOn);

/**
 * An issued sheet as the plan reads it, without what is only to be read.
 *
 * @param {TarewellEvent} issued @param {TarewellEvent[]} events Of all its blocks. @param {import("./after_pour.mjs").Lifted[]} lifted @param {number} least
 * @param {(at: number) => string} local
 */
export function sheetForDay(issued, events, lifted, least, local) {
  const { code = "", formula, mould, blocks = 1, planned = null, pours = [], steps = [], after = [] } = issued;
  /** @type {Record<string, TarewellEvent[]>} */
  const told = {};
  for (const event of events) (told[numberOf(event)] ??= []).push(event);
  const due = Object.fromEntries(pouredOf(issued, events).map((poured) => [numberOf(poured), local(unmouldFrom(poured, foldAfter(after, poured.events), lifted, least).at).slice(0, 16)]));
  const rests = after.find(({ key }) => key === LIFT)?.seconds ?? steps.find(({ key }) => key === "unmould")?.seconds ?? 0;
  return {
    code, blocks, planned, due, rests, blended: comesBlended(issued),
    day: issued.local.slice(0, 10),
    formula: { id: formula?.id ?? "", name: formula?.name ?? code },
    mould: { name: mould?.name ?? "" },
    vessel: { name: issued.vessel?.name ?? "" },
    pours: pours.map((/** @type {any} */ { kind, phase, lot = null, target_g }) => ({ kind, phase, lot, target_g })),
    told: Object.fromEntries(Object.entries(told).map(([block, own]) => [block, own.map(trimmed)])),
  };
}

/** @param {TarewellEvent} event */
const trimmed = ({ kind, local, step, action, outcome, person }) => ({ kind, local, step, action, outcome, person });
