import { ITEM_KINDS } from "./kinds.mjs";

/** @import { BatchEntry, Item, State, TarewellEvent } from "./types.mjs" */

/** How many batches of one formula, and how many codes in all, Python is told of. */
export const SHOWN_USES = 20;

/** Each event once, in the order all phones agree on: instant, then id. @template {{id: string, at: string}} E @param {Iterable<E>} events @returns {E[]} */
export function inOrder(events) {
  const byId = new Map([...events].map((event) => [event.id, event]));
  return [...byId.values()].sort((a, b) => compare(a.at, b.at) || compare(a.id, b.id));
}

/** @param {string} a @param {string} b */
export const compare = (a, b) => (a < b ? -1 : a > b ? 1 : 0);

/** "mould:m-block" -> ["mould", "m-block"] @param {string} subject @returns {[string, string]} */
function parts(subject) {
  const colon = subject.indexOf(":");
  return [subject.slice(0, colon), subject.slice(colon + 1)];
}

/** What lists need of an issued batch. @param {TarewellEvent} event @returns {BatchEntry} */
export const batchEntry = (event) => ({
  id: event.id,
  code: event.code ?? parts(event.subject)[1],
  at: event.at,
  local: event.local,
  formulaEvent: event.formula?.event ?? "",
  formulaName: event.formula?.name ?? "",
  ...(event.set_aside ? { takes: event.set_aside.lots.map(({ id }) => id) } : {}),
  ...(event.replaces ? { replaces: event.replaces } : {}),
});

/** The newest event of each subject: what a new event of that subject builds on. @param {Iterable<TarewellEvent>} events */
export function heads(events) {
  return new Map(inOrder(events).map((event) => [event.subject, event.id]));
}

/**
 * The workshop as Python sees it: what lies beneath, overlaid by the events. Pure; the order in which events come in, and
 * events that come twice, change nothing.
 *
 * @param {State} demo The demo workshop in practice, else nothing.
 * @param {Iterable<TarewellEvent>} events
 * @param {Iterable<BatchEntry>} [batches] Entries of issued batches whose events were left unread.
 * @returns {State}
 */
export function foldWorkshop(demo, events, batches = []) {
  const ordered = inOrder(events);
  /** @type {Map<string, Map<string, Item>>} */
  const kinds = new Map();
  let units = demo.units ?? "metric";
  const codes = new Set(demo.batch_codes);
  const used = new Map([...batches].map((entry) => [entry.id, entry]));

  for (const [kind, items] of Object.entries(demo)) {
    if (!Array.isArray(items) || kind === "batch_codes") continue;
    kinds.set(kind, new Map(items.map((/** @type {Item} */ item) => [item.id, item])));
  }
  for (const event of ordered) {
    const [kind, id] = parts(event.subject);
    if (event.kind === "settings") units = event.values?.units ?? units;
    if (event.kind === "removed") kinds.get(kind)?.delete(id);
    if (event.kind === "issued") used.set(event.id, batchEntry(event));
    // A kind that is none could take the place of the units or of the codes.
    if (event.kind === "saved" && ITEM_KINDS.includes(kind)) {
      const items = kinds.get(kind) ?? new Map();
      // Taken out first, so that the item saved last stands last: of two lots in use that one counts.
      items.delete(id);
      items.set(id, savedItem(kind, id, event));
      kinds.set(kind, items);
    }
  }
  const uses = [...used.values()].sort((a, b) => compare(a.at, b.at) || compare(a.id, b.id));
  for (const entry of uses) codes.add(entry.code);

  /** @type {State} */
  const state = { units };
  for (const [kind, items] of kinds) state[kind] = [...items.values()];
  state.formula = (state.formula ?? []).map((/** @type {Item} */ item) => ({ ...item, used_in: usesOf(item, uses) }));
  state.batch_codes = [...codes];
  return state;
}

/** @param {string} kind @param {string} id @param {TarewellEvent} event @returns {Item} */
function savedItem(kind, id, event) {
  const item = { id, values: event.values ?? {} };
  return kind === "formula" ? { ...item, revision: event.revision ?? 1, event: event.id } : item;
}

/** @param {Item} item @param {BatchEntry[]} uses */
function usesOf(item, uses) {
  const own = uses.filter((entry) => item.event && entry.formulaEvent === item.event).map((entry) => entry.code);
  return [...new Set([...(item.used_in ?? []), ...own])];
}
