import { inOrder, SHOWN_USES } from "./fold.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/**
 * How dense the set soap of blocks was, by the name of their formula: the newest of each formula, for Python. A block that two
 * phones have racked counts once.
 *
 * @param {TarewellEvent[]} racked
 */
export function setSoap(racked) {
  const bySubject = new Map(inOrder(racked).reverse().map((event) => [event.subject, event]));
  /** @type {Map<string, number[]>} */
  const found = new Map();
  for (const { of_formula: name = "", density_g_per_ml: density } of inOrder(bySubject.values()).reverse()) {
    const told = found.get(name) ?? [];
    if (name !== "" && density && told.length < SHOWN_USES) found.set(name, [...told, density]);
  }
  return [...found].flatMap(([name, told]) => told.map((density) => ({ of_formula: name, density_g_per_ml: density })));
}
