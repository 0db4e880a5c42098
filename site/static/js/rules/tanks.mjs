import { blockOf } from "./block.mjs";
import { compare } from "./fold.mjs";
import { lotKey } from "./lot_key.mjs";
import { standing } from "./taken_back.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** How the key of a step ends that weighs all oils out of a tank in one; calc/steps/keys.py has it too. */
const BLEND = "oil:blend";

/** Whether a sheet's oils come blended out of a tank. @param {TarewellEvent} issued */
export const comesBlended = ({ steps = [] }) => steps.some(({ key }) => key === BLEND);

/**
 * @typedef {object} Filled       A tank with something in it.
 * @property {string} since       when it was first loaded after it was empty; "" in the invented workshop, whose days go with the clock
 * @property {string[]} lots      what sheets have called it by since then; none of a blend of oils
 * @property {string | null} lot  what they call it now
 */

/**
 * What nobody took back. Of loads that one fill came to the newest counts, as put in when the first of them was: a reading put
 * right moves nothing that blocks have drawn since, and two phones that both close a fill have filled the tank once.
 * calc/tanks/loads.py has the same rule.
 *
 * @param {TarewellEvent[]} events In order.
 */
function thatStand(events) {
  const left = standing(events);
  const ofFill = (/** @type {TarewellEvent} */ { kind, fill, at }) => (kind === "tank_loaded" && at ? fill : undefined);
  const newest = new Map(left.map((event) => [ofFill(event), event.id]));
  // Of two with one key a map keeps the last: gone through backwards, the first.
  const first = new Map([...events].reverse().map((event) => [ofFill(event), event.at]));
  return left
    .filter((event) => !ofFill(event) || newest.get(ofFill(event)) === event.id)
    .map((event) => (ofFill(event) ? { ...event, at: first.get(ofFill(event)) ?? event.at } : event))
    // The invented workshop's own have no instant, and come first.
    .sort((a, b) => compare(a.at ?? "", b.at ?? ""));
}

/** The tanks with something in them, by id. @param {TarewellEvent[]} events In order. @returns {Map<string, Filled>} */
export function filledTanks(events) {
  /** @type {Map<string, Filled>} */
  const found = new Map();
  for (const { kind, subject, at = "", as_lot = null } of thatStand(events)) {
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
  const lots = new Set(all.flatMap((tank) => tank.lots.map(lotKey)));
  const blends = all.some((tank) => tank.lots.length === 0);
  const weighed = weighings.filter(({ kind, at }) => kind === "weighed" && at > since);
  const drawn = weighed.filter(({ lot, step = "" }) => (lot && lots.has(lotKey(lot))) || (blends && step.endsWith(BLEND)));
  const gross = new Set(drawn.filter(({ mode }) => mode === "gross").map(({ subject }) => subject));
  const kept = [...new Set([...drawn, ...weighed.filter(({ subject }) => gross.has(subject))])];
  const ids = new Set(kept.map(({ id }) => id));
  return [...kept, ...weighings.filter(({ kind, corrects = "" }) => kind === "corrected" && ids.has(corrects))];
}

/**
 * The batches whose whole sheets are read for what was drawn: of every display that was never tared, or its vessel would count as
 * drawn; and the newest that drew of each lot, or of a blend, by which it is told for how many blocks more there is enough.
 *
 * @param {TarewellEvent[]} drawn In order.
 */
export function sheetsDrawn(drawn) {
  const weighed = drawn.filter(({ kind }) => kind === "weighed");
  const newest = new Map(weighed.map((event) => [ofBlend(event) ? "" : (event.lot ?? ""), event]));
  const gross = weighed.filter(({ mode }) => mode === "gross");
  return [...new Set([...gross, ...newest.values()].map(({ subject }) => blockOf(subject)[0]))];
}

/** The batches that drew a blend: what formula they are of says which tank it came from. @param {TarewellEvent[]} drawn In order. */
export const blendedBatches = (drawn) => [...new Set(drawn.filter(ofBlend).map(({ subject }) => blockOf(subject)[0]))];

/** @param {TarewellEvent} event */
const ofBlend = ({ step = "" }) => step.endsWith(BLEND);
