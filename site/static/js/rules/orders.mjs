import { blockOf } from "./block.mjs";

/** @import { BatchEntry, TarewellEvent, Values } from "./types.mjs" */

/** Who issues a sheet, under which code and why: none of it changes what is made. */
const OF_ISSUING = ["code", "issued_by", "reason", "replaces"];

/** Whether two orders ask for the same batch; a blank field is as good as none. @param {Values} one @param {Values} other */
export const sameOrder = (one, other) =>
  [...new Set([...Object.keys(one), ...Object.keys(other)])]
    .filter((name) => !OF_ISSUING.includes(name))
    .every((name) => (one[name] ?? "").trim() === (other[name] ?? "").trim());

/** After one of these nothing more is weighed for a block. calc/day/plan.py has them too. */
const OVER = new Set(["closed", "ended"]);

/** The blocks of a batch that need nothing more: their record is closed, or somebody has ended them. @param {TarewellEvent[]} events Of all its blocks. */
export const overBlocks = (events) => [...new Set(events.flatMap(({ kind, subject }) => (OVER.has(kind) ? [blockOf(subject)[1]] : [])))];

/** Whether a block of the batch is still to be weighed. @param {TarewellEvent} issued @param {TarewellEvent[]} events Of all its blocks. */
export const waits = ({ blocks = 1, steps }, events) => steps !== undefined && overBlocks(events).length < blocks;

/** The codes of the sheets in whose place another one was issued: what of them nobody has begun is not to be made. @param {BatchEntry[]} batches */
export const replacedCodes = (batches) => new Set(batches.flatMap(({ replaces }) => replaces ?? []));
