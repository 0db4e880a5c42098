import { inOrder } from "./fold.mjs";
import { standing } from "./taken_back.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What people found an ingredient to be called, by what the name is of. @typedef {{key: string, name: string, person: string, id: string}} ConfirmedName */

/**
 * The last one counts, of those that nobody took back.
 *
 * @param {TarewellEvent[]} events @returns {ConfirmedName[]}
 */
export function confirmedNames(events) {
  /** @type {Map<string, ConfirmedName>} */
  const found = new Map();
  for (const { id, subject, name = "", person = "" } of standing(inOrder(events))) {
    const key = subject.slice("inci:".length);
    found.set(key, { key, name, person, id });
  }
  return [...found.values()];
}
