import { inOrder } from "./fold.mjs";

/** @import { TarewellEvent } from "./types.mjs" */

/** What people found an ingredient to be called, by what the name is of. @typedef {{key: string, name: string, person: string, id: string}} ConfirmedName */

/**
 * The last one counts, of those that nobody took back.
 *
 * @param {TarewellEvent[]} events @returns {ConfirmedName[]}
 */
export function confirmedNames(events) {
  const gone = new Set(events.flatMap(({ kind, takes }) => (kind === "inci_taken_back" ? [takes] : [])));
  /** @type {Map<string, ConfirmedName>} */
  const found = new Map();
  for (const { id, kind, subject, name = "", person = "" } of inOrder(events)) {
    const key = subject.slice("inci:".length);
    if (kind === "inci_confirmed" && !gone.has(id)) found.set(key, { key, name, person, id });
  }
  return [...found.values()];
}
