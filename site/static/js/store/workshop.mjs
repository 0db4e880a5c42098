import { foldWorkshop, heads } from "../rules/fold.mjs";
import { setSoap, TELLS_SET_SOAP } from "../rules/set_soap.mjs";
import { allBatches, batchesOf, eventsOfKinds, recentBatches, workshopEvents } from "./events.mjs";
import { mode } from "./mode.mjs";
import { setSoapTold } from "./standing.mjs";

/** @import { Item, State } from "../rules/types.mjs" */

/** Enough for the next code of a day; a code that clashes with an older one is found when it is stored. */
const RECENT = 100;

/**
 * @typedef {object} Workshop
 * @property {State} demo     what lies beneath the events: in practice the built demo workshop, else nothing
 * @property {State} state    both together
 * @property {Map<string, string>} heads  newest event id by subject
 * @property {boolean} filled  whether anything is stored
 * @property {boolean} own     whether that is somebody's own
 */

/**
 * @param {State} demo
 * @param {{allCodes?: boolean, limit?: number}} [more] `allCodes`: read the entry of every batch, however many there are;
 *   `limit`: for each reading. [ms]
 * @returns {Promise<Workshop>}
 */
export async function loadWorkshop(demo, { allCodes = false, limit } = {}) {
  const [events, told] = await Promise.all([workshopEvents(limit), setSoapTold(limit)]);
  const formulas = /** @type {Item[]} */ (foldWorkshop(demo, events).formula);
  const revisions = formulas.flatMap((formula) => formula.event ?? []);
  const batches = allCodes
    ? await allBatches(limit)
    : (await Promise.all([recentBatches(RECENT, limit), batchesOf(revisions, limit)])).flat();
  const filled = events.length > 0 || batches.length > 0;
  return {
    demo,
    state: { ...foldWorkshop(demo, events, batches), set_soap: told ?? setSoap(await eventsOfKinds(TELLS_SET_SOAP, limit)) },
    heads: heads(events),
    filled,
    own: filled && mode === "own",
  };
}
