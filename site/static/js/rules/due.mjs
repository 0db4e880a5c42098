import { compare } from "./fold.mjs";
import { endOf } from "./timers.mjs";
import { daysAfter } from "./training.mjs";

/** @import { Eyewash } from "./eyewash.mjs" */
/** @import { OpenStop } from "./training.mjs" */
/** @import { Step, TarewellEvent } from "./types.mjs" */
/** @import { Kept } from "./upkeep.mjs" */

/**
 * @typedef {object} Due  Something that somebody has to do.
 * @property {"stop" | "eyewash" | "timer" | "unmould" | "after" | "plan" | "switch" | "on" | "weigh" | "ready" | "upkeep" | "copy"} kind
 * @property {string} about   the walk of a stop, the block, the batch on a rack, the event that keeps a switch-on or says that it is done, or the task of upkeep
 * @property {("weekly" | "yearly")[]} checks  of the eyewash, where several stand alike
 * @property {"" | Eyewash["state"]} state  of those checks
 * @property {string} step    the step whose time runs, or that is next after the pour, or which entry of the plan; "" else
 * @property {number | null} at  the instant from which it can be done; null where it is of a day, or due already [ms]
 * @property {string} day     the last day on which it is in time; "" where it is of an instant, or was never done
 * @property {boolean} alarm  it can hurt somebody, or is overdue
 *
 * @typedef {object} Running  A block of which a time may run.
 * @property {string} subject
 * @property {Step[]} steps
 * @property {TarewellEvent[]} events
 *
 * @typedef {{id: string, weigh: string, ready: string}} OnRack  A batch on a rack: the days of its next weighing and of its end there, "" where not known.
 *
 * @typedef {{subject: string, step: string, at: number}} NextDeed  What is next at a block after the pour: given in the order of work.
 *
 * @typedef {{at: number, entry: import("./types.mjs").DayEntry}} NextEntry  What comes next by the plan of the day.
 *
 * @typedef {{id: string, at: number}} NextSwitch  A tank that is to be switched on, or was.
 *
 * @typedef {object} Copies
 * @property {string} last    the day of the last copy outside the phone; "" where there is none
 * @property {string} [first] the day of the first batch issued here; "" where none was
 * @property {number} since   records since then
 * @property {number} every   days from one to the next
 * @property {number} [closed] blocks closed since then
 * @property {number} [after] as many of them are enough, whatever the day
 */

/** Nobody unmoulds by this page so long after the time; the row would stand for ever, since no tap takes it away. [ms] */
const LONG_OVER = 3 * 24 * 3_600_000;

/** Whoever has let a weighing go by for so long isn't asked for it again until the next one. [days] */
const WEIGHING_OVER = 7;

/**
 * What is due, the worst first, and where nothing is, what comes next. Pure.
 *
 * - A stop that is open and an eyewash that doesn't hold bar the lye: they come first, and are alarms.
 * - A time that runs is due from its end, and told before. In a closed block only the last step's still runs: the block waits
 *   in its mould.
 * - What is next after a pour is told in the order of work, and never an alarm: nobody is hurt by a block that waits.
 * - The plan of the day tells what comes next by it, but for blocks that are told already; it is never an alarm.
 * - A tank's switch-on that was kept stands among the plan's entries until it is done or dropped.
 * - A tank that is on is told with them, by when it was switched on, until it is off.
 * - A batch on a rack is told on the day of its next weighing, and once it is ready as that alone; neither is an alarm.
 * - Of the tasks of upkeep the most pressing alone is told: an alarm where something found isn't mended, or it is overdue.
 * - A check or a copy is told on the day on which it has to be renewed, and is an alarm from the next day on.
 *
 * @param {{stops: OpenStop[], eyewash: Partial<Record<"weekly" | "yearly", Eyewash>>, blocks: Running[], after?: NextDeed[], plan?: NextEntry[], switches?: NextSwitch[], on?: NextSwitch[], racks?: OnRack[], upkeep?: Kept[], copies: Copies}} known
 * @param {number} now [ms] @param {string} today
 * @returns {{due: Due[], next: Due | null}}
 */
export function dueOf({ stops, eyewash, blocks, after = [], plan = [], switches = [], on = [], racks = [], upkeep = [], copies }, now, today) {
  const barring = stops.map(({ subject }) => made("stop", { about: subject, alarm: true }));
  const checks = checksOf(eyewash);
  const times = blocks.flatMap((block) => runningOf(block, now)).sort((a, b) => Number(a.at) - Number(b.at));
  const deeds = after.filter(({ at }) => now <= at + LONG_OVER).map(({ subject, step, at }) => made("after", { about: subject, step, at }));
  const told = new Set([...times, ...deeds].map(({ about }) => about));
  const planned = plan
    .filter(({ entry: { subject } }) => subject === "" || !told.has(subject))
    .map(({ at, entry }) => made("plan", { about: entry.subject, step: `${entry.at} ${entry.kind} ${entry.mark}`, at }))
    .concat(switches.map(({ id, at }) => made("switch", { about: id, at })), on.map(({ id, at }) => made("on", { about: id, at })))
    .sort((a, b) => Number(a.at) - Number(b.at));
  const copy = copyDue(copies, today);
  const kept = upkeepDue(upkeep, today);
  const byDay = [...checks.filter(({ alarm }) => !alarm), ...kept.filter(({ alarm }) => !alarm), ...racks.flatMap((batch) => onRackOf(batch, today)), ...copy].sort((a, b) => compare(a.day, b.day));
  const isDue = (/** @type {Due} */ { day, alarm }) => alarm || day <= today;
  return {
    due: [...barring, ...checks.filter(({ alarm }) => alarm), ...times, ...deeds, ...kept.filter(({ alarm }) => alarm), ...planned, ...byDay.filter(isDue)],
    next: byDay.find((each) => !isDue(each)) ?? null,
  };
}

/** @param {Due["kind"]} kind @param {Partial<Due>} fields @returns {Due} */
const made = (kind, fields) => ({ kind, about: "", checks: [], state: "", step: "", at: null, day: "", alarm: false, ...fields });

/** The checks that bar the lye, those that stand alike as one; each other by itself. @param {Partial<Record<"weekly" | "yearly", Eyewash>>} eyewash */
function checksOf(eyewash) {
  /** @type {Due[]} */
  const found = [];
  for (const which of /** @type {const} */ (["weekly", "yearly"])) {
    const { state = "held", until = "" } = eyewash[which] ?? {};
    if (!eyewash[which]) continue;
    const alike = found.find((each) => each.alarm && each.state === state);
    if (alike) alike.checks.push(which);
    else found.push(made("eyewash", { checks: [which], state, day: until, alarm: state !== "held" }));
  }
  return found;
}

/** The times of a block that were started and not ended. @param {Running} block @param {number} now @returns {Due[]} */
function runningOf({ subject, steps, events }, now) {
  const closed = events.find(({ kind }) => kind === "closed");
  const timed = events.filter(({ kind }) => kind === "timed");
  const ended = new Set(timed.filter(({ action }) => action === "ended").map(({ step }) => step));
  const last = steps.at(-1)?.key;
  return steps.flatMap(({ key, seconds }) => {
    const started = timed.find(({ step, action }) => step === key && action === "started");
    const inMould = key === last;
    if (!started || ended.has(key) || (closed && (closed.outcome !== "poured" || !inMould))) return [];
    const at = endOf(started, seconds ?? 0);
    if (closed && now > at + LONG_OVER) return [];
    // A block may stay in its mould; what is stirred or cooled by the clock may not wait.
    return made(inMould ? "unmould" : "timer", { about: subject, step: key, at, alarm: !inMould && at <= now });
  });
}

/** @param {OnRack} batch @param {string} today @returns {Due[]} */
function onRackOf({ id, weigh, ready }, today) {
  const end = ready === "" ? [] : [made("ready", { about: id, day: ready })];
  if (ready !== "" && ready <= today) return end;
  return [...(weigh === "" || today > daysAfter(weigh, WEIGHING_OVER) ? [] : [made("weigh", { about: id, day: weigh })]), ...end];
}

/** The most pressing task, or the one that comes next by the day. @param {Kept[]} upkeep @param {string} today */
function upkeepDue(upkeep, today) {
  const first = upkeep.find(({ state, day }) => state !== "later" || day !== "");
  if (!first) return [];
  const { id, state, day } = first;
  const alarm = state === "fault" || state === "over";
  return [made("upkeep", { about: id, day: state === "later" ? day : today, alarm })];
}

/** The next copy, where there is something to lose. @param {Copies} copies @param {string} today @returns {Due[]} */
export function copyDue({ last, first = "", since, every, closed = 0, after = Infinity }, today) {
  // Where none was ever made, the days run from the first issued batch; before that no copy is asked for.
  const from = last || first;
  if (since === 0 || from === "") return [];
  const day = daysAfter(from, every);
  const many = closed >= after;
  return [made("copy", { day: many && day > today ? today : day, alarm: many || day < today })];
}
