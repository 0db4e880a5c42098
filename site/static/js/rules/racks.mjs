import { blockOf } from "./block.mjs";
import { standing } from "./taken_back.mjs";
import { daysAfter } from "./training.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** The event by which a block tells, as the last of its steps, that its bars stand on trays. */
export const AT_CUTTER = /** @type {const} */ ("racked");

/**
 * @typedef {object} OnRack       The bars of one block.
 * @property {string} id          "CODE:BLOCK", as lists and addresses name it
 * @property {string} code
 * @property {number} block
 * @property {string} soap
 * @property {string} cut         the day it was cut; "" in the invented workshop, whose days go with the clock
 * @property {string} weigh       the day of its next weighing; "" where none is known
 * @property {string} ready       the day it is ready by the forecast at its newest weighing; "" where there is none
 * @property {boolean} off        somebody took it off the rack as ready, and nobody put it back
 */

/** Whether bars came onto a rack by it. @param {{kind: string}} event */
export const isRacking = ({ kind }) => kind === "cure_racked" || kind === AT_CUTTER;

/** What is or was on the racks, in the order in which it came there. @param {TarewellEvent[]} events In order. @returns {OnRack[]} */
export function everRacked(events) {
  /** @type {Map<string, OnRack>} */
  const found = new Map();
  for (const event of standing(events)) {
    const { kind, subject, local = "", values = {} } = event;
    const [code, block] = blockOf(`block:${subject.slice(subject.indexOf(":") + 1)}`);
    const id = `${code}:${block}`;
    const before = found.get(id);
    if (isRacking(event)) {
      const cut = values.cut_on || before?.cut || local.slice(0, 10);
      found.set(id, { id, code, block, soap: event.soap ?? before?.soap ?? event.of_formula ?? "", cut, weigh: before?.weigh ?? cut, ready: before?.ready ?? "", off: kind === AT_CUTTER && (before?.off ?? false) });
    } else if (kind === "cure_weighed" && before) {
      found.set(id, { ...before, weigh: event.next_on ?? "", ready: event.ready_on ?? before.ready });
    } else if (before && (kind === "cure_ready" || kind === "cure_moved")) {
      found.set(id, { ...before, off: kind === "cure_ready" });
    }
  }
  return [...found.values()];
}

/**
 * From which day a batch is ready: by the forecast at its weighing, else so many weeks after it was cut; "" where the maker's
 * rule asks for a loss that no weighing has told.
 *
 * @param {OnRack} batch @param {{weeks: string, loss: string, usual: number}} rule As it is typed in the workshop; `usual` where it has none [weeks].
 */
export function readyFrom({ cut, ready }, { weeks, loss, usual }) {
  if (ready !== "" || loss !== "") return ready;
  const days = weeks === "" ? usual * 7 : /^\d{1,3}$/.test(weeks) ? Number(weeks) * 7 : NaN;
  return daysAfter(cut, days);
}
