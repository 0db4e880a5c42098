import { blockEntry, blockOf, blockSubject } from "../rules/block.mjs";
import { canonical } from "../rules/canonical.mjs";
import { batchEntry, compare, inOrder, SHOWN_USES } from "../rules/fold.mjs";
import { fillOf, fillSubject, isInHand, isOfFill } from "../rules/fill.mjs";
import { BLOCK_KINDS } from "../rules/kinds.mjs";
import { setApart } from "./apart.mjs";
import { clock, END_OF_TIME, localTime, utc } from "./clock.mjs";
import { Refusal, StoreError, transact } from "./database.mjs";
import { misfit } from "./fits.mjs";
import { allHere, howMany, howManyClosed, note, noteAnew, remember, remembered } from "./kept.mjs";
import { LOG } from "./log.mjs";
import { noteIn, noteOut, phoneIn } from "./shop.mjs";
import { STANDING } from "./standing.mjs";

/** @import { BatchEntry, BlockEntry, BlockKind, Kind, TarewellEvent } from "../rules/types.mjs" */
/** @import { Writing } from "./database.mjs" */
/** @import { ShopCursor } from "./shop.mjs" */

/** The kinds that make up the workshop; issued batches are read one by one. @type {Kind[]} */
const WORKSHOP_KINDS = ["saved", "removed", "settings"];

/** The small entries that are kept with the events. */
const DERIVED = [LOG, STANDING];

/** @param {Writing} transaction @param {TarewellEvent} event */
async function noteDerived(transaction, event) {
  for (const entries of DERIVED) await entries.note(transaction, event);
}

/** A batch with this code has been issued already. */
export class CodeTaken extends Refusal {}

/** The subject has a newer event than the one this change was made on. */
export class ChangedElsewhere extends Refusal {}

/** The id is already used by an event that says something else. */
export class IdTaken extends Refusal {}

/** An event that no copy would bring back. */
export class Unfit extends Refusal {
  /** @param {Partial<TarewellEvent> | null} event @param {import("../rules/schema.mjs").Misfit} misfit */
  constructor(event, misfit) {
    super(`${event?.kind} of ${event?.subject}: ${misfit.field}`);
    this.misfit = misfit;
  }
}

/** @param {TarewellEvent} event As a copy holds it. */
function mustFit(event) {
  const found = misfit(event);
  if (found) throw new Unfit(event, found);
}

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
 * Reads from records that are all there.
 *
 * @template T
 * @param {(transaction: Writing) => Promise<T>} work
 * @param {number} [limit] [ms]
 * @returns {Promise<T>}
 */
const read = (work, limit) =>
  transact("readonly", async (transaction) => (await Promise.all([work(transaction), allHere(transaction)]))[0], limit);

/**
 * Adds events, and remembers how many there are then.
 *
 * @template T
 * @param {(transaction: Writing, going: () => void) => Promise<[T, number, number?]>} work Gives its result, how many it has added, and how many of those closed a block.
 * @param {number} [limit] [ms]
 * @returns {Promise<T>}
 */
async function write(work, limit) {
  let kept = 0;
  const result = await transact("readwrite", async (transaction, going) => {
    const [done, added, closed] = await work(transaction, going);
    kept = added > 0 ? await note(transaction, added, closed) : 0;
    return done;
  }, limit);
  remember(kept);
  return result;
}

/** Counts once what a build has left that did not count, so that a loss from now on is noticed. */
export async function beginToCount() {
  if (remembered() === 0) remember(await transact("readwrite", (transaction) => note(transaction, 0)));
}

/** Goes on without the events that are missing. */
export async function goOnWithout() {
  remember(await transact("readwrite", noteAnew), true);
}

/**
 * Stores one event for good, and resolves when the browser has it on disk. Safe to call again with the same event
 * after a failure, whether or not the first call got through.
 *
 * @param {TarewellEvent} event
 * @param {string | null} [after] The id of the subject's event this one builds on, null for none; left out: any.
 * @param {TarewellEvent[]} [also] Of other subjects, stored with it or not at all.
 * @returns {Promise<TarewellEvent>} The event as stored. Rejects with `StoreError` or `Refusal`.
 */
export function append(event, after, also = []) {
  // A second try takes the clock as it stands then.
  const dated = (/** @type {TarewellEvent} */ each) =>
    each.at < END_OF_TIME ? each : { ...each, at: utc(clock.now()), local: localTime(clock.now()) };
  const first = dated(event);
  return first.at < END_OF_TIME ? appendDated(first, after, also.map(dated)) : Promise.reject(new StoreError("store-clock"));
}

/** @param {TarewellEvent} event @param {string | null | undefined} after @param {TarewellEvent[]} also */
function appendDated(event, after, also) {
  return write(async (transaction) => {
    // A copy leaves out what is undefined.
    for (const each of [event, ...also]) mustFit(JSON.parse(canonical(each)));
    await allHere(transaction);
    const known = await transaction.objectStore("events").get(event.id);
    if (known) return [sameOr(known, event), 0];
    const phone = await phoneIn(transaction);
    const here = (/** @type {TarewellEvent} */ each) => (phone ? { ...each, device: phone.device } : each);
    if (phone) await noteOut(transaction, [event, ...also].map(({ id }) => id));
    if (event.kind === "issued") {
      const taken = await transaction.objectStore("batches").index("code").getKey(batchEntry(event).code);
      if (taken !== undefined) throw new CodeTaken(event.subject);
      const issued = await put(transaction, here(event));
      await noteDerived(transaction, issued);
      return [issued, 1];
    }
    const stored = await putNext(transaction, here(event), after);
    for (const each of also) await putNext(transaction, here(each));
    return [stored, 1 + also.length, [event, ...also].filter(({ kind }) => kind === "closed").length];
  });
}

/** Puts an event behind what its subject has. @param {Writing} transaction @param {TarewellEvent} event @param {string | null} [after] */
async function putNext(transaction, event, after) {
  const before = inOrder(await transaction.objectStore("events").index("subject").getAll(event.subject)).at(-1);
  if (after !== undefined && (before?.id ?? null) !== after) throw new ChangedElsewhere(event.subject);
  const stored = await put(transaction, before && before.at >= event.at ? { ...event, at: justAfter(before.at) } : event);
  if (stored.at >= END_OF_TIME) throw new Unfit(event, { field: "at" });
  if (isOfBlock(event) || isOfFill(event.subject)) await noteBlock(transaction, event.subject);
  await noteDerived(transaction, event);
  return stored;
}

/**
 * A clock set back must not let a change sort before the one it was made on; `local` keeps what the clock said.
 *
 * @param {string} at
 */
const justAfter = (at) => utc(Date.parse(at) + 1);

/** A first try may have been dated otherwise, or before this phone was paired. @param {TarewellEvent} known @param {TarewellEvent} event */
function sameOr(known, event) {
  const as = { at: "", device: "" };
  if (canonical({ ...known, ...as }) !== canonical({ ...event, ...as })) throw new IdTaken(event.id);
  return known;
}

/** @param {Writing} transaction @param {TarewellEvent} event */
async function put(transaction, event) {
  const added = transaction.objectStore("events").add(event);
  // Where the second request is refused at once, nobody waits for the first: its own refusal must not count as unhandled.
  added.catch(() => {});
  // Put, not added: where a loss took the event and left its entry, a copy brings the event back.
  if (event.kind === "issued") await transaction.objectStore("batches").put(batchEntry(event));
  await added;
  return event;
}

/** @param {TarewellEvent} event */
const isOfBlock = ({ kind }) => BLOCK_KINDS.includes(/** @type {BlockKind} */ (kind));

/**
 * Keeps the list of blocks in hand, and of fills: those begun and not closed, in whatever order their events came. It is
 * written with each event, and could be made anew from the events.
 *
 * @param {Writing} transaction @param {string} subject
 */
async function noteBlock(transaction, subject) {
  const blocks = transaction.objectStore("blocks");
  const all = inOrder(await transaction.objectStore("events").index("subject").getAll(subject));
  const newest = all.at(-1);
  if (newest && (isOfFill(subject) ? isInHand(all) : !all.some(({ kind }) => kind === "closed"))) await blocks.put(entryOf(newest));
  else await blocks.delete(subject);
}

/** @param {TarewellEvent} event */
const entryOf = (event) => (isOfFill(event.subject) ? { subject: event.subject, code: fillOf(event.subject), block: 0, at: event.at } : blockEntry(event));

/** How long taking in a copy may stand still before it counts as failed. [ms] */
const STANDSTILL = 120_000;

/** Of how many events that others recorded the small entries are written with them. */
const FEW = 8;

/** @param {TarewellEvent[]} events */
async function* atOnce(events) {
  yield events;
}

/**
 * Adds many events in one transaction, all or none. Known ones are left as they are.
 *
 * A copy is refused whole where it has other content under a known id. What comes in one by one can't wait for that: with
 * `apart` such a one is set apart for a person to look at, and the rest goes in.
 *
 * @param {TarewellEvent[] | (() => AsyncGenerator<TarewellEvent[]>)} events All, or where they come from, some at a time.
 * @param {(n: number) => void} [told] Called with how many have been gone through.
 * @param {{apart?: boolean, shop?: ShopCursor | null}} [how] `shop`: they come from the shop server, which has been read up to there.
 * @returns {Promise<number>} How many were new. Rejects with `IdTaken` where a known id has other content, with `Unfit` where one
 *   is no event.
 */
export function merge(events, told = () => {}, { apart = false, shop = null } = {}) {
  return write(async (transaction, going) => {
    const store = transaction.objectStore("events");
    // Of a list each is asked for: a server's events come a few at a time, again and again.
    const all = Array.isArray(events) ? null : new Set(await store.getAllKeys());
    /** @type {string[]} */
    const added = [];
    /** This device's own, come back. @type {string[]} */
    const same = [];
    /** The blocks, and whether what is added closes them. @type {Map<string, boolean>} */
    const blocks = new Map();
    const changed = DERIVED.map((entries) => ({ entries, keys: /** @type {Set<string>} */ (new Set()) }));
    let n = 0;
    let closing = 0;
    const source = Array.isArray(events) ? atOnce(events) : events();
    for (;;) {
      const { value: some, done } = await meanwhile(transaction, source.next());
      if (done) break;
      /** @type {Promise<unknown>[]} */
      const requests = [];
      // All before the first request: one that nobody waits for any more would be refused unheard.
      some.forEach(mustFit);
      const known = all ?? (await knownOf(transaction, some));
      for (const event of some) {
        if (known.has(event.id)) {
          requests.push(isSame(transaction, event, apart).then((is) => void (is && same.push(event.id))));
          continue;
        }
        known.add(event.id);
        added.push(event.id);
        requests.push(put(transaction, event));
        if (event.kind === "closed") closing += 1;
        for (const { entries, keys } of changed) {
          const key = entries.of.keyOf(event);
          if (key !== null) keys.add(key);
        }
        // A fill may be opened again after its end.
        if (isOfFill(event.subject)) blocks.set(event.subject, false);
        else if (isOfBlock(event)) blocks.set(event.subject, blocks.get(event.subject) || event.kind === "closed");
      }
      await Promise.all(requests);
      going();
      told((n += some.length));
    }
    const open = [...blocks].filter(([, closed]) => !closed);
    const ended = [...blocks].filter(([, closed]) => closed);
    // Each in a function of its own: a call that is refused at once would leave the requests before it unheard.
    await Promise.all(ended.map(async ([subject]) => transaction.objectStore("blocks").delete(subject)));
    for (const [subject] of open) {
      await noteBlock(transaction, subject);
      going();
    }
    for (const { entries, keys } of changed) await (shop && added.length <= FEW ? entries.renew(transaction, keys) : entries.forget(transaction, keys));
    if (shop) await noteIn(transaction, shop, same);
    else await noteOut(transaction, added, { later: true });
    return [added.length, added.length, closing];
  }, STANDSTILL);
}

/** Which of these are stored. @param {Writing} transaction @param {TarewellEvent[]} events */
async function knownOf(transaction, events) {
  const store = transaction.objectStore("events");
  return new Set((await Promise.all(events.map(async ({ id }) => store.getKey(id)))).flatMap((id) => id ?? []));
}

/**
 * Waits for something that is no request of the transaction. Meanwhile the transaction is kept busy, or it would commit.
 *
 * @template T
 * @param {Writing} transaction @param {Promise<T>} awaited @returns {Promise<T>}
 */
async function meanwhile(transaction, awaited) {
  let here = false;
  const ended = awaited.finally(() => (here = true));
  ended.catch(() => {});
  do await transaction.objectStore("drafts").getKey("");
  while (!here);
  return ended;
}

/** @param {Writing} transaction @param {TarewellEvent} event @param {boolean} apart Whether one that isn't is set apart. @returns {Promise<boolean>} */
async function isSame(transaction, event, apart) {
  const known = await transaction.objectStore("events").get(event.id);
  if (canonical(known) === canonical(event)) return true;
  if (!apart) throw new IdTaken(event.id);
  await setApart(transaction, event);
  return false;
}

/** @param {Writing} transaction */
async function ofWorkshop(transaction) {
  const index = transaction.objectStore("events").index("kind");
  const lists = await Promise.all(WORKSHOP_KINDS.map(async (kind) => index.getAll(kind)));
  return lists.flat();
}

/** Everything the workshop is folded from. @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const workshopEvents = (limit) => read(ofWorkshop, limit);

/** The same, also where records are missing: a copy is compared with what is left. @returns {Promise<TarewellEvent[]>} */
export const workshopLeft = () => transact("readonly", ofWorkshop, STANDSTILL);

/** Everything of these kinds, in order. @param {readonly Kind[]} kinds @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const eventsOfKinds = (kinds, limit) =>
  read(async (transaction) => {
    const index = transaction.objectStore("events").index("kind");
    return inOrder((await Promise.all(kinds.map(async (kind) => index.getAll(kind)))).flat());
  }, limit);

/** Everything about these subjects, in order. @param {string | string[]} subjects @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const eventsAbout = (subjects, limit) =>
  read(async (transaction) => {
    const index = transaction.objectStore("events").index("subject");
    return inOrder((await Promise.all([subjects].flat().map(async (subject) => index.getAll(subject)))).flat());
  }, limit);

/** The id of every event there is, also where some are missing. @returns {Promise<Set<string>>} */
export const allIds = async () =>
  new Set(await transact("readonly", (transaction) => transaction.objectStore("events").getAllKeys(), STANDSTILL));

/** How many events are read at a time where all are. */
const PAGE = 500;

/**
 * Every event there is, in order, some at a time: all of them at once may be more than a phone can hold. Read in many short
 * transactions, between which others can write; nothing that was there at the beginning is ever changed.
 *
 * @param {(share: number) => void} [told] Called with how much of the work is done.
 */
export async function* everyEvent(told = () => {}) {
  /** @type {{id: string, at: string}[]} */
  const all = [];
  for (let more = true; more; ) {
    const page = await transact("readonly", (transaction) =>
      transaction.objectStore("events").getAll(IDBKeyRange.lowerBound(all.at(-1)?.id ?? "", true), PAGE), STANDSTILL);
    all.push(...page.map(({ id, at }) => ({ id, at })));
    more = page.length === PAGE;
    told(0);
  }
  all.sort((a, b) => compare(a.at, b.at) || compare(a.id, b.id));
  for (let n = 0; n < all.length; n += PAGE) {
    const ids = all.slice(n, n + PAGE).map(({ id }) => id);
    const found = await transact("readonly", (transaction) => {
      const events = transaction.objectStore("events");
      return Promise.all(ids.map(async (id) => events.get(id)));
    }, STANDSTILL);
    yield found.flatMap((event) => event ?? []);
    told((n + ids.length) / all.length);
  }
}

/** How many records there are. @returns {Promise<number>} */
export const countEvents = () => transact("readonly", howMany);

/** How many blocks have been closed. @returns {Promise<number>} */
export const countClosed = () => transact("readonly", howManyClosed);

/** The issued sheets with this code: one, or more after two phones were merged. @param {string} code */
export function batch(code) {
  return read(async (transaction) =>
    inOrder(await transaction.objectStore("events").index("subject").getAll(`batch:${code}`)).filter(
      (event) => event.kind === "issued",
    ),
  );
}

/** Everything about one block, in order. @param {string} code @param {number} block @returns {Promise<TarewellEvent[]>} */
export const blockEvents = (code, block) =>
  eventsAbout(blockSubject(code, block));

/** Everything about all blocks of a batch, in order. @param {string} code @returns {Promise<TarewellEvent[]>} */
export const eventsOfBatch = (code) =>
  read(async (transaction) => {
    // "0" is the character after "/": all subjects that begin with the code and a slash.
    const all = IDBKeyRange.bound(`block:${code}/`, `block:${code}0`, false, true);
    const found = await transaction.objectStore("events").index("subject").getAll(all);
    return inOrder(found.filter(({ subject }) => blockOf(subject)[0] === code));
  });

/** The blocks that are begun and not closed, last touched first. @param {number} limit @returns {Promise<BlockEntry[]>} */
export const blocksInHand = (limit) =>
  read(async (transaction) => {
    const all = (await transaction.objectStore("blocks").getAll()).filter(({ subject }) => !isOfFill(subject));
    return all.sort((a, b) => compare(b.at, a.at) || compare(a.subject, b.subject)).slice(0, limit);
  });

/** The ids of the fills that are begun and not closed, last touched first. @param {number} [patience] [ms] @returns {Promise<string[]>} */
export const fillsInHand = (patience) =>
  read(async (transaction) => {
    const all = (await transaction.objectStore("blocks").getAll()).filter(({ subject }) => isOfFill(subject));
    return all.sort((a, b) => compare(b.at, a.at) || compare(a.subject, b.subject)).map(({ subject }) => fillOf(subject));
  }, patience);

/** Everything about one fill, in order. @param {string} id @returns {Promise<TarewellEvent[]>} */
export const fillEvents = (id) =>
  eventsAbout(fillSubject(id));

/**
 * The newest batches first, without their sheets.
 *
 * @param {number} limit
 * @param {number} [patience] [ms]
 * @returns {Promise<BatchEntry[]>}
 */
export function recentBatches(limit, patience) {
  return read(async (transaction) => {
    const index = transaction.objectStore("batches").index("at");
    // A cursor takes its time for each step: one leap leads to the oldest that is asked for, from where all are read at once.
    const cursor = await index.openKeyCursor(null, "prev");
    const oldest = limit > 1 ? await cursor?.advance(limit - 1) : cursor;
    return (await index.getAll(oldest ? IDBKeyRange.lowerBound(oldest.key) : null)).slice(-limit).reverse();
  }, patience);
}

/** The code of the sheet that was issued in a sheet's place, null where none was. @param {string} code @returns {Promise<string | null>} */
export const replacementOf = (code) =>
  read(async (transaction) => inOrder(await transaction.objectStore("batches").index("replaces").getAll(code)).at(-1)?.code ?? null);

/** The oldest batch's entry, null where none was issued. @returns {Promise<BatchEntry | null>} */
export const firstBatch = () =>
  read(async (transaction) => (await transaction.objectStore("batches").index("at").openCursor())?.value ?? null);

/** The batches that take of one of these lots of soap set aside. @param {string[]} lots @param {number} [limit] [ms] @returns {Promise<BatchEntry[]>} */
export const batchesTaking = (lots, limit) =>
  read(async (transaction) => {
    const index = transaction.objectStore("batches").index("takes");
    const found = (await Promise.all(lots.map(async (lot) => index.getAll(lot)))).flat();
    return [...new Map(found.map((entry) => [entry.id, entry])).values()];
  }, limit);

/** Everything about the subjects that begin so and lie between these, both ends included, in order. @param {string} begins @param {string} first @param {string} last @param {number} [limit] [ms] @returns {Promise<TarewellEvent[]>} */
export const eventsBetween = (begins, first, last, limit) =>
  read(async (transaction) => inOrder(await transaction.objectStore("events").index("subject").getAll(IDBKeyRange.bound(begins + first, begins + last))), limit);

/** Every batch's entry. @param {number} [limit] [ms] @returns {Promise<BatchEntry[]>} */
export const allBatches = (limit) => read((transaction) => transaction.objectStore("batches").getAll(), limit);

/** Some batches made by each of these formula revisions. @param {string[]} formulaEvents @param {number} [limit] [ms] @returns {Promise<BatchEntry[]>} */
export function batchesOf(formulaEvents, limit) {
  return read(async (transaction) => {
    const index = transaction.objectStore("batches").index("formula");
    const lists = await Promise.all(formulaEvents.map(async (event) => index.getAll(event, SHOWN_USES)));
    return lists.flat();
  }, limit);
}
