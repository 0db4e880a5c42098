import { canonical } from "./canonical.mjs";
import { clock, localTime, utc } from "./clock.mjs";
import { Refusal, transact } from "./database.mjs";
import { batchEntry, inOrder, SHOWN_USES } from "./fold.mjs";

/** @import { BatchEntry, Kind, TarewellEvent } from "./types.mjs" */
/** @import { Writing } from "./database.mjs" */

/** The kinds that make up the workshop; issued batches are read one by one. @type {Kind[]} */
const WORKSHOP_KINDS = ["saved", "removed", "demo_cleared", "settings"];

/** A batch with this code has been issued already. */
export class CodeTaken extends Refusal {}

/** The subject has a newer event than the one this change was made on. */
export class ChangedElsewhere extends Refusal {}

/** The id is already used by an event that says something else. */
export class IdTaken extends Refusal {}

/**
 * @param {Kind} kind
 * @param {string} subject
 * @param {Partial<TarewellEvent>} [fields]
 * @returns {TarewellEvent}
 */
export function newEvent(kind, subject, fields = {}) {
  const now = clock.now();
  return { ...fields, id: clock.uuid(), at: utc(now), local: localTime(now), kind, subject };
}

/**
 * Stores one event for good, and resolves when the browser has it on disk. Safe to call again with the same event
 * after a failure, whether or not the first call got through.
 *
 * @param {TarewellEvent} event
 * @param {string | null} [after] The id of the subject's event this one builds on, null for none; left out: any.
 * @returns {Promise<TarewellEvent>} The event as stored. Rejects with `StoreError` or `Refusal`.
 */
export function append(event, after) {
  return transact("readwrite", async (transaction) => {
    const known = await transaction.objectStore("events").get(event.id);
    if (known) return sameOr(known, event);
    if (event.kind === "issued") {
      const taken = await transaction.objectStore("batches").index("code").getKey(batchEntry(event).code);
      if (taken !== undefined) throw new CodeTaken(event.subject);
      return put(transaction, event);
    }
    const before = inOrder(await transaction.objectStore("events").index("subject").getAll(event.subject)).at(-1);
    if (after !== undefined && (before?.id ?? null) !== after) throw new ChangedElsewhere(event.subject);
    return put(transaction, before && before.at >= event.at ? { ...event, at: justAfter(before.at) } : event);
  });
}

/**
 * A clock set back must not let a change sort before the one it was made on; `local` keeps what the clock said.
 *
 * @param {string} at
 */
const justAfter = (at) => utc(Date.parse(at) + 1);

/** @param {TarewellEvent} known @param {TarewellEvent} event */
function sameOr(known, event) {
  if (canonical({ ...known, at: "" }) !== canonical({ ...event, at: "" })) throw new IdTaken(event.id);
  return known;
}

/** @param {Writing} transaction @param {TarewellEvent} event */
async function put(transaction, event) {
  await transaction.objectStore("events").add(event);
  if (event.kind === "issued") await transaction.objectStore("batches").add(batchEntry(event));
  return event;
}

/**
 * Adds many events in one transaction, all or none. Known ones are left as they are.
 *
 * @param {TarewellEvent[]} events
 * @returns {Promise<number>} How many were new. Rejects with `IdTaken` where a known id has other content.
 */
export function merge(events) {
  const limit = 60_000;
  return transact(
    "readwrite",
    async (transaction) => {
      let added = 0;
      for (const event of events) {
        const known = await transaction.objectStore("events").get(event.id);
        if (known && canonical(known) !== canonical(event)) throw new IdTaken(event.id);
        if (known) continue;
        await put(transaction, event);
        added += 1;
      }
      return added;
    },
    limit,
  );
}

/** Everything the workshop is folded from. @returns {Promise<TarewellEvent[]>} */
export function workshopEvents() {
  return transact("readonly", async (transaction) => {
    const index = transaction.objectStore("events").index("kind");
    const lists = await Promise.all(WORKSHOP_KINDS.map((kind) => index.getAll(kind)));
    return lists.flat();
  });
}

/** Every event there is, for a copy outside the browser. @returns {Promise<TarewellEvent[]>} */
export const allEvents = () =>
  transact("readonly", (transaction) => transaction.objectStore("events").getAll(), 60_000).then(inOrder);

/** The issued sheets with this code: one, or more after two phones were merged. @param {string} code */
export function batch(code) {
  return transact("readonly", async (transaction) =>
    inOrder(await transaction.objectStore("events").index("subject").getAll(`batch:${code}`)).filter(
      (event) => event.kind === "issued",
    ),
  );
}

/**
 * The newest batches first, without their sheets.
 *
 * @param {number} limit
 * @returns {Promise<BatchEntry[]>}
 */
export function recentBatches(limit) {
  return transact("readonly", async (transaction) => {
    /** @type {BatchEntry[]} */
    const found = [];
    let cursor = await transaction.objectStore("batches").index("at").openCursor(null, "prev");
    while (cursor && found.length < limit) {
      found.push(cursor.value);
      cursor = await cursor.continue();
    }
    return found;
  });
}

/** Every batch's entry. @returns {Promise<BatchEntry[]>} */
export const allBatches = () => transact("readonly", (transaction) => transaction.objectStore("batches").getAll());

/** Some batches made by each of these formula revisions. @param {string[]} formulaEvents @returns {Promise<BatchEntry[]>} */
export function batchesOf(formulaEvents) {
  return transact("readonly", async (transaction) => {
    const index = transaction.objectStore("batches").index("formula");
    const lists = await Promise.all(formulaEvents.map((event) => index.getAll(event, SHOWN_USES)));
    return lists.flat();
  });
}
