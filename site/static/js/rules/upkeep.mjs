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
 * @property {string} last     the day it was last done; "" where nobody has said so
 * @property {string} day      the last day on which it is in time; "" where no days count
 * @property {number | null} made  blocks since; null where no blocks count
 * @property {number} blocks   due after so many; 0 where no blocks count
 * @property {"fault" | "over" | "due" | "later"} state
 */

const RANK = ["fault", "over", "due", "later"];

/** @param {string | undefined} typed */
const counted = (typed) => Number(/^\s*\d+\s*$/.test(typed ?? "") ? typed : 0);

/**
 * Every task that is kept, the most pressing first: what was found and isn't mended, what is overdue, what is due, what comes next.
 * One that was never done, and says nothing of before, is due.
 *
 * @param {Item[]} items @param {Iterable<TarewellEvent>} log @param {string[]} closed When each block was closed, by the clock there.
 * @param {string} today @returns {Kept[]}
 */
export function upkeepOf(items, log, closed, today) {
  const stands = standing(inOrder(log));
  const mended = new Set(stands.flatMap(({ kind, mends }) => (kind === "upkeep_mended" && mends ? [mends] : [])));
  return items
    .map((item) => kept(item, stands.filter(({ subject }) => subject === `upkeep_log:${item.id}`), mended, closed, today))
    .sort((a, b) => RANK.indexOf(a.state) - RANK.indexOf(b.state) || compare(a.day || "9", b.day || "9") || left(a) - left(b) || compare(a.id, b.id));
}

/** @param {Kept} task */
const left = ({ blocks, made }) => blocks - (made ?? 0);

/** @param {Item} item @param {TarewellEvent[]} log @param {Set<string>} mended @param {string[]} closed @param {string} today @returns {Kept} */
function kept({ id, values }, log, mended, closed, today) {
  const done = log.filter(({ kind }) => kind === "upkeep_done");
  const faults = done.filter((event) => event.found && !mended.has(event.id));
  const days = counted(values.every_days);
  const blocks = counted(values.every_blocks);
  const since = lastTime(done.at(-1)?.local ?? "", values.counts_from ?? "");
  const last = since.slice(0, 10);
  const day = days > 0 && last !== "" ? daysAfter(last, days) : "";
  const made = blocks === 0 ? null : closed.filter((local) => isAfter(local, since)).length;
  const over = (day !== "" && day < today) || (made ?? 0) > blocks;
  const due = last === "" || (day !== "" && day <= today) || (blocks > 0 && (made ?? 0) >= blocks);
  const state = faults.length > 0 ? "fault" : over ? "over" : due ? "due" : "later";
  return { id, values, log: [...log].reverse(), faults, last, day, made, blocks, state };
}

/** The later of when it was recorded, to the second, and of a day that somebody named. @param {string} recorded @param {string} day */
const lastTime = (recorded, day) => (day > recorded.slice(0, 10) ? day : recorded);

/**
 * Of a day that was named a block counts from the next one on. Instants are compared by the clock on the wall, as people tell them.
 *
 * @param {string} local @param {string} since
 */
const isAfter = (local, since) => local.slice(0, since.length === 10 ? 10 : 19) > since.slice(0, 19);
