import { inOrder, SHOWN_USES } from "./fold.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What tells how dense the set soap of blocks was. @type {("racked" | "corrected")[]} */
export const TELLS_SET_SOAP = ["racked", "corrected"];

/**
 * By what a block tells how dense its set soap was: what was racked first. One in which a reading was put right later does
 * not tell it: its density stands as it was reckoned when it was racked.
 *
 * @param {TarewellEvent[]} events Of one block, in order. @returns {TarewellEvent | undefined}
 */
export function racksDensity(events) {
  const corrected = events.findLastIndex(({ kind }) => kind === "corrected");
  return events.find(({ kind }, n) => kind === "racked" && n > corrected);
}

/**
 * How dense the set soap of blocks was, by the name of their formula: the newest of each formula, for Python.
 *
 * @param {TarewellEvent[]} events What was racked and put right, of all blocks.
 */
export function setSoap(events) {
  /** @type {Map<string, TarewellEvent[]>} */
  const blocks = new Map();
  for (const event of inOrder(events)) blocks.set(event.subject, [...(blocks.get(event.subject) ?? []), event]);
  const racked = inOrder([...blocks.values()].flatMap((own) => racksDensity(own) ?? []));
  /** @type {Map<string, number[]>} */
  const found = new Map();
  for (const { of_formula: name = "", density_g_per_ml: density } of racked.reverse()) {
    const told = found.get(name) ?? [];
    if (name !== "" && density && told.length < SHOWN_USES) found.set(name, [...told, density]);
  }
  return [...found].flatMap(([name, told]) => told.map((density) => ({ of_formula: name, density_g_per_ml: density })));
}
