import { inOrder, SHOWN_USES } from "./fold.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What tells how dense the set soap of blocks was. @type {("racked" | "corrected")[]} */
export const TELLS_SET_SOAP = ["racked", "corrected"];

/**
 * How dense the set soap of blocks was, by the name of their formula: the newest of each formula, for Python.
 *
 * A block that two phones have racked counts once. One in which a reading was put right later does not count: its density
 * stands as it was reckoned when it was racked.
 *
 * @param {TarewellEvent[]} events
 */
export function setSoap(events) {
  /** @type {Map<string, TarewellEvent>} */
  const racked = new Map();
  for (const event of inOrder(events)) {
    if (event.kind === "corrected") racked.delete(event.subject);
    else if (!racked.has(event.subject)) racked.set(event.subject, event);
  }
  /** @type {Map<string, number[]>} */
  const found = new Map();
  for (const { of_formula: name = "", density_g_per_ml: density } of [...racked.values()].reverse()) {
    const told = found.get(name) ?? [];
    if (name !== "" && density && told.length < SHOWN_USES) found.set(name, [...told, density]);
  }
  return [...found].flatMap(([name, told]) => told.map((density) => ({ of_formula: name, density_g_per_ml: density })));
}
