/** @import { TarewellEvent } from "./types.mjs" */

/** How the key of a step ends that weighs all oils out of a tank in one; calc/steps/keys.py has it too. */
const BLEND = "oil:blend";

/**
 * @typedef {object} Filled       A tank with something in it.
 * @property {string} since       when it was first loaded after it was empty; "" in the invented workshop, whose days go with the clock
 * @property {string[]} lots      what sheets have called it by since then; none of a blend of oils
 * @property {string | null} lot  what they call it now
 */

/** The tanks with something in them, by id. @param {TarewellEvent[]} events In order. @returns {Map<string, Filled>} */
export function filledTanks(events) {
  const gone = new Set(events.flatMap(({ kind, takes }) => (kind === "tank_taken_back" ? [takes] : [])));
  /** @type {Map<string, Filled>} */
  const found = new Map();
  for (const { id, kind, subject, at = "", as_lot = null } of events) {
    if (gone.has(id)) continue;
    const tank = subject.slice(subject.indexOf(":") + 1);
    const before = found.get(tank);
    if (kind === "tank_emptied") found.delete(tank);
    else if (kind === "tank_loaded") {
      const lots = [...new Set([...(before?.lots ?? []), ...(as_lot ? [as_lot] : [])])];
      found.set(tank, { since: before?.since ?? at, lots, lot: as_lot ?? before?.lot ?? null });
    }
  }
  return found;
}

/**
 * Of all weighings those that may have been drawn from a tank, with what puts them right: Python reckons with no others. Of a
 * block whose display was never tared all are needed.
 *
 * @param {Map<string, Filled>} filled @param {TarewellEvent[]} weighings Weighed and corrected, in order.
 */
export function drawnFrom(filled, weighings) {
  const all = [...filled.values()];
  const since = all.reduce((first, { since: at }) => (at < first ? at : first), all[0]?.since ?? "");
  const lots = new Set(all.flatMap((tank) => tank.lots));
  const blends = all.some((tank) => tank.lots.length === 0);
  const weighed = weighings.filter(({ kind, at }) => kind === "weighed" && at > since);
  const drawn = weighed.filter(({ lot, step = "" }) => (lot && lots.has(lot)) || (blends && step.endsWith(BLEND)));
  const gross = new Set(drawn.filter(({ mode }) => mode === "gross").map(({ subject }) => subject));
  const kept = [...new Set([...drawn, ...weighed.filter(({ subject }) => gross.has(subject))])];
  const ids = new Set(kept.map(({ id }) => id));
  return [...kept, ...weighings.filter(({ kind, corrects = "" }) => kind === "corrected" && ids.has(corrects))];
}
