import { BLOCK_KINDS, blockEntry, blockOf, blockSubject } from "./block.mjs";
import { canonical } from "./canonical.mjs";
import { clock, localTime, utc } from "./clock.mjs";
import { Refusal, transact } from "./database.mjs";
import { batchEntry, compare, inOrder, SHOWN_USES } from "./fold.mjs";

/** @import { BatchEntry, BlockEntry, BlockKind, Kind, TarewellEvent } from "./types.mjs" */
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
    const stored = await put(transaction, before && before.at >= event.at ? { ...event, at: justAfter(before.at) } : event);
    if (isOfBlock(event)) await noteBlock(transaction, event.subject);
    return stored;
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

/** @param {TarewellEvent} event */
const isOfBlock = ({ kind }) => BLOCK_KINDS.includes(/** @type {BlockKind} */ (kind));

/**
 * Keeps the list of blocks in hand: each one that is begun and, by whatever came in whatever order, not closed.
 *
 * @param {Writing} transaction @param {string} subject
 */
async function noteBlock(transaction, subject) {
  const blocks = transaction.objectStore("blocks");
  const all = inOrder(await transaction.objectStore("events").index("subject").getAll(subject));
  const newest = all.at(-1);
  if (newest && !all.some(({ kind }) => kind === "closed")) await blocks.put(blockEntry(newest));
  else await blocks.delete(subject);
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
      /** @type {Set<string>} */
      const blocks = new Set();
      for (const event of events) {
        const known = await transaction.objectStore("events").get(event.id);
        if (known && canonical(known) !== canonical(event)) throw new IdTaken(event.id);
        if (known) continue;
        await put(transaction, event);
        if (isOfBlock(event)) blocks.add(event.subject);
        added += 1;
      }
      for (const subject of blocks) await noteBlock(transaction, subject);
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

/** Everything of these kinds, in order. @param {readonly Kind[]} kinds @returns {Promise<TarewellEvent[]>} */
export const eventsOfKinds = (kinds) =>
  transact("readonly", async (transaction) => {
    const index = transaction.objectStore("events").index("kind");
    return inOrder((await Promise.all(kinds.map((kind) => index.getAll(kind)))).flat());
  });

/** Everything about one subject, in order. @param {string} subject @returns {Promise<TarewellEvent[]>} */
export const eventsOf = (subject) =>
  transact("readonly", async (transaction) =>
    inOrder(await transaction.objectStore("events").index("subject").getAll(subject)),
  );

/** Every event there is, for a copy outside the browser. @returns {Promise<TarewellEvent[]>} */
export const allEvents = () =>
  transact("readonly", (transaction) => transaction.objectStore("events").getAll(), 60_000).then(inOrder);

/** How many records there are. @returns {Promise<number>} */
export const countEvents = () => transact("readonly", (transaction) => transaction.objectStore("events").count());

/** The issued sheets with this code: one, or more after two phones were merged. @param {string} code */
export function batch(code) {
  return transact("readonly", async (transaction) =>
    inOrder(await transaction.objectStore("events").index("subject").getAll(`batch:${code}`)).filter(
      (event) => event.kind === "issued",
    ),
  );
}

/** Everything about one block, in order. @param {string} code @param {number} block @returns {Promise<TarewellEvent[]>} */
export const blockEvents = (code, block) =>
  transact("readonly", async (transaction) =>
    inOrder(await transaction.objectStore("events").index("subject").getAll(blockSubject(code, block))),
  );

/** Everything about all blocks of a batch, in order. @param {string} code @returns {Promise<TarewellEvent[]>} */
export const eventsOfBatch = (code) =>
  transact("readonly", async (transaction) => {
    // "0" is the character after "/": all subjects that begin with the code and a slash.
    const all = IDBKeyRange.bound(`block:${code}/`, `block:${code}0`, false, true);
    const found = await transaction.objectStore("events").index("subject").getAll(all);
    return inOrder(found.filter(({ subject }) => blockOf(subject)[0] === code));
  });

/** The blocks that are begun and not closed, last touched first. @param {number} limit @returns {Promise<BlockEntry[]>} */
export const blocksInHand = (limit) =>
  transact("readonly", async (transaction) => {
    const all = await transaction.objectStore("blocks").getAll();
    return all.sort((a, b) => compare(b.at, a.at) || compare(a.subject, b.subject)).slice(0, limit);
  });

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
