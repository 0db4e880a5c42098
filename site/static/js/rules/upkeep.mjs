import { compare, inOrder } from "./fold.mjs";
import { standing } from "./taken_back.mjs";
import { daysAfter } from "./training.mjs";

/** @import { Item, TarewellEvent } from "./types.mjs" */

/**
 * @typedef {object} Kept  A task that a workshop keeps, as its log leaves it.
 * @property {string} id
 * @property {Item["values"]} values
 * @property {TarewellEvent[]} log     what was done, newest first; what was taken back is left out
 * @property {TarewellEvent[]} faults  entries that found something which nobody has called mended, oldest first
 * @property {string} last     the day from which it is counted: when it was last done, or added; "" where nobody has said so
 * @property {boolean} did     whether somebody has kept that it was done
 * @property {string} day      the last day on which it is in time; "" where no days count
 * @property {number | null} made  blocks since; null where no blocks count
 * @property {number} blocks   due after so many; 0 where no blocks count
 * @property {"fault" | "over" | "due" | "later"} state
 */

const RANK = ["fault", "over", "due", "later"];

/** So many entries of each task's log are shown; the newest tell how it goes. */
export const SHOWN = 5;

/**
 * Of one task's log what still tells something: the newest entries, when it was last done, and what was found and isn't mended.
 *
 * @param {TarewellEvent[]} events Of one task, in order. @returns {TarewellEvent[]}
 */
export function upkeepThatTells(events) {
  const stands = standing(events);
  const last = stands.findLast(({ kind }) => kind === "upkeep_done");
  const open = openFaults(stands, mendedOf(stands));
  return stands.filter((event, n) => n >= stands.length - SHOWN || event === last || open.includes(event));
}

/** What somebody said is mended. @param {TarewellEvent[]} stands */
const mendedOf = (stands) => new Set(stands.flatMap(({ kind, mends }) => (kind === "upkeep_mended" && mends ? [mends] : [])));

/** @param {TarewellEvent[]} log @param {Set<string>} mended */
const openFaults = (log, mended) => log.filter(({ id, kind, found }) => kind === "upkeep_done" && found && !mended.has(id));

/** @param {string | undefined} typed */
const counted = (typed) => Number(/^\s*\d+\s*$/.test(typed ?? "") ? typed : 0);

/**
 * Every task that is kept, the most pressing first: what was found and isn't mended, what is overdue, what is due, what comes next.
 * One that was never done, and says nothing of before, is due.
 *
 * @param {Item[]} items @param {Iterable<TarewellEvent>} log @param {(since: string) => number} closed How many blocks were closed since then, as `countedFrom` says it.
 * @param {string} today @returns {Kept[]}
 */
export function upkeepOf(items, log, closed, today) {
  const stands = standing(inOrder(log));
  const mended = mendedOf(stands);
  return items
    .map((item) => kept(item, stands.filter(({ subject }) => subject === `upkeep_log:${item.id}`), mended, closed, today))
    .sort((a, b) => RANK.indexOf(a.state) - RANK.indexOf(b.state) || compare(a.day || "9", b.day || "9") || left(a) - left(b) || compare(a.id, b.id));
}

/** From when the blocks of each task that counts them are counted. @param {Item[]} items @param {Iterable<TarewellEvent>} log @param {string} today @returns {string[]} */
export function countedFrom(items, log, today) {
  const stands = standing(inOrder(log));
  const counting = items.filter(({ values }) => counted(values.every_blocks) > 0);
  return [...new Set(counting.map(({ id, values }) => sinceOf(values, stands.filter(({ kind, subject }) => kind === "upkeep_done" && subject === `upkeep_log:${id}`), today)))];
}

/** Nothing was done on a day that is still to come: such a slip counts for nothing. @param {Item["values"]} values @param {TarewellEvent[]} done @param {string} today */
const sinceOf = ({ counts_from: named = "" }, done, today) => lastTime(done.at(-1)?.local ?? "", named > today ? "" : named);

/** @param {Kept} task */
const left = ({ blocks, made }) => blocks - (made ?? 0);

/** @param {Item} item @param {TarewellEvent[]} log @param {Set<string>} mended @param {(since: string) => number} closed @param {string} today @returns {Kept} */
function kept({ id, values }, log, mended, closed, today) {
  const done = log.filter(({ kind }) => kind === "upkeep_done");
  const faults = openFaults(log, mended);
  const days = counted(values.every_days);
  const blocks = counted(values.every_blocks);
  const since = sinceOf(values, done, today);
  const last = since.slice(0, 10);
  const day = days > 0 && last !== "" ? daysAfter(last, days) : "";
  const made = blocks === 0 ? null : closed(since);
  const over = (day !== "" && day < today) || (made ?? 0) > blocks;
  const due = last === "" || (day !== "" && day <= today) || (blocks > 0 && (made ?? 0) >= blocks);
  const state = faults.length > 0 ? "fault" : over ? "over" : due ? "due" : "later";
  return { id, values, log: [...log].reverse(), faults, last, did: done.length > 0, day, made, blocks, state };
}

/** The later of when it was recorded, to the second, and of a day that somebody named. @param {string} recorded @param {string} day */
const lastTime = (recorded, day) => (day > recorded.slice(0, 10) ? day : recorded);

/**
 * What is closed later than this, to the second by the clock on the wall, as people tell it, counts. Of a day that was named a
 * block counts from the next one on: the text sorts behind every second of that day.
 *
 * @param {string} since
 */
export const closedAfter = (since) => (since.length === 10 ? `${since}T~` : since.slice(0, 19));
