import { clock } from "./clock.mjs";
import { transact } from "./database.mjs";
import { allHere } from "./kept.mjs";

/** @import { Derived, DerivedNote, Writing } from "./database.mjs" */

/*
 * Small entries that are made of the events: the batch log, and what stands of one thing. Each is written with every event that
 * it is about. Where many events come in at once, or come from a build that kept no such entries, they are made afterwards, a
 * few at a time. Until then nobody is given any: a list with some of them would pass for all.
 */

/** How long making them may stand still before it counts as failed. [ms] */
const STANDSTILL = 120_000;

/** How many are made in one transaction. */
const AT_A_TIME = 50;

/** Entries have a key, the note about them has the empty one. */
export const ENTRIES = () => IDBKeyRange.lowerBound("", true);

/**
 * Reads from records that are all there.
 *
 * @template T
 * @param {(transaction: Writing) => Promise<T>} work @param {number} [limit] [ms]
 */
export const read = (work, limit) =>
  transact("readonly", async (transaction) => (await Promise.all([work(transaction), allHere(transaction)]))[0], limit);

/** One kind of such entries, in a store of its own. */
export class Entries {
  /**
   * @param {object} of
   * @param {"log" | "standing"} of.store
   * @param {"code" | "key"} of.named  the field of an entry that is its key
   * @param {number} of.fold           which fold makes them
   * @param {(event: {kind: string, subject: string}) => string | null} of.keyOf  whose entry an event changes
   * @param {(transaction: Writing, key: string) => Promise<Derived | null>} of.made  an entry as its events have it
   * @param {(transaction: Writing) => Promise<string[]>} of.keys  of all that may have one
   */
  constructor(of) {
    this.of = of;
    /** @type {Promise<void> | undefined} */
    this.making = undefined;
  }

  /** @param {Writing} transaction */
  #store(transaction) {
    return /** @type {import("./database.mjs").DerivedStore} */ (/** @type {unknown} */ (transaction.objectStore(this.of.store)));
  }

  /** @param {Writing} transaction */
  async #noted(transaction) {
    return /** @type {DerivedNote | undefined} */ (await this.#store(transaction).get(""));
  }

  /** @param {Writing} transaction @param {string} key */
  async #write(transaction, key) {
    const entry = await this.of.made(transaction, key);
    const store = this.#store(transaction);
    await (entry ? store.put(entry) : store.delete(key));
  }

  /** In the transaction that adds an event. @param {Writing} transaction @param {{kind: string, subject: string}} event */
  async note(transaction, event) {
    const key = this.of.keyOf(event);
    if (key !== null) await this.#write(transaction, key);
  }

  /** In the transaction that adds many: these are to be made anew. @param {Writing} transaction @param {Set<string>} keys */
  async forget(transaction, keys) {
    if (keys.size === 0) return;
    const store = this.#store(transaction);
    const before = await this.#noted(transaction);
    const rest = before?.fold === this.of.fold ? this.of.fold : (before?.rest ?? 0);
    // Without what it is found by: only that it is to be made.
    await Promise.all([...keys].map(async (key) => store.put({ [this.of.named]: key, fold: 0 })));
    await store.put({ [this.of.named]: "", fold: 0, of: clock.uuid(), rest });
  }

  /** In the transaction that adds a few: these are made anew at once. @param {Writing} transaction @param {Set<string>} keys */
  async renew(transaction, keys) {
    for (const key of keys) await this.#write(transaction, key);
  }

  /**
   * Sees to it that all entries are there, and comes back at once where that is so. What a page asks for twice is made once.
   *
   * @param {(share: number) => void} [told] Called with how much of the work is done, where there is some.
   * @returns {Promise<void>}
   */
  make(told = () => {}) {
    this.making ??= this.#make(told).finally(() => (this.making = undefined));
    return this.making;
  }

  /** @param {(share: number) => void} told @returns {Promise<void>} */
  async #make(told) {
    const { fold, named } = this.of;
    const { done, of, keys } = await transact("readonly", (transaction) => this.#missing(transaction), STANDSTILL);
    if (done) return;
    for (let n = 0; n < keys.length; n += AT_A_TIME) {
      told(n / keys.length);
      const some = keys.slice(n, n + AT_A_TIME);
      await transact("readwrite", (transaction) => Promise.all(some.map((key) => this.#write(transaction, key))), STANDSTILL);
    }
    // Where more came in meanwhile, those are still to be made.
    const whole = await transact("readwrite", async (transaction) => {
      if ((await this.#noted(transaction))?.of !== of) return false;
      await this.#store(transaction).put({ [named]: "", fold, of: clock.uuid() });
      return true;
    }, STANDSTILL);
    if (!whole) await this.#make(told);
  }

  /** What is not there as this build makes it. @param {Writing} transaction @returns {Promise<{done: boolean, of: string | undefined, keys: string[]}>} */
  async #missing(transaction) {
    const { fold, named, keys } = this.of;
    const note = await this.#noted(transaction);
    if (note?.fold === fold) return { done: true, of: note.of, keys: [] };
    const entries = await this.#store(transaction).getAll(ENTRIES());
    const keyOf = (/** @type {Derived} */ entry) => String(entry[named]);
    const stale = entries.filter((entry) => entry.fold !== fold).map(keyOf);
    // Where the others are of this fold already, only those that came in since are to be made.
    if (note?.rest === fold) return { done: false, of: note.of, keys: stale };
    const there = new Set(entries.filter((entry) => entry.fold === fold).map(keyOf));
    return { done: false, of: note?.of, keys: [...new Set([...(await keys(transaction)), ...stale])].filter((key) => !there.has(key)) };
  }

  /**
   * Reads entries; null while some are still to be made.
   *
   * @template T
   * @param {(transaction: Writing) => Promise<T>} work @param {number} [limit] [ms]
   */
  whole(work, limit) {
    return read(async (transaction) => ((await this.#noted(transaction))?.fold === this.of.fold ? work(transaction) : null), limit);
  }
}
