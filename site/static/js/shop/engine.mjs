/**
 * Keeps the records of this phone and those of the shop server the same, over whatever connection it is given. What this phone
 * has and the server hasn't goes there, what it hasn't comes here, in whatever order, as often as it may: a record is known by
 * its number. Phones are the truth; the server is a mailbox that may be lost.
 */

import { Denied } from "./link.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { ShopCursor, ShopPhone } from "../store/shop.mjs" */
/** @import { Link, Message, Part } from "./link.mjs" */
/** @import { Stands, Told } from "./state.mjs" */

/**
 * @typedef {object} Store   What is kept of the shop server on this phone, and the records.
 * @property {() => Promise<ShopPhone | null>} readPhone
 * @property {() => Promise<ShopCursor>} readCursor
 * @property {(created: string) => Promise<unknown>} beginAnew
 * @property {() => Promise<void>} markAll
 * @property {(most: number, but: ReadonlySet<string>, which: {now: boolean}) => Promise<TarewellEvent[]>} outgoing
 * @property {(ids: string[]) => Promise<unknown>} noteSent
 * @property {(events: TarewellEvent[], cursor: ShopCursor) => Promise<number>} take  adds them and moves the cursor, both or neither
 * @property {(event: unknown) => event is TarewellEvent} fits
 * @property {(error: unknown) => boolean} isOfEvents  whether what could not be stored is at fault itself, and not the store
 *
 * @typedef {object} World
 * @property {Store} store
 * @property {(phone: ShopPhone) => Promise<Link>} connect  Throws `Denied`.
 * @property {(phone: ShopPhone) => Promise<boolean>} elsewhere  whether another shop's server answers there
 * @property {(told: Told) => void} tell     how it stands now
 * @property {(n: number) => void} cameIn    so many records are new here
 * @property {(ms: number, rung: Promise<void>) => Promise<void>} pause  ends after that time, or when it is rung for
 * @property {() => number} random           from 0 to 1
 * @property {() => string} now              ISO in UTC
 * @property {string} build                  another one where this app is another build
 */

/** How many records are under way at once: the server answers each when it is on its disk. */
export const IN_FLIGHT = 64;
/** How many are taken in at once: whoever stores a weighing meanwhile waits for them, and each transaction has its price. */
const AT_ONCE = 200;
/** The pauses before the server is looked for again: doubled each time, each shortened by chance, so that a server that comes back isn't met by all phones at once. [ms] */
const FIRST = 500;
const LONGEST = 60_000;
/** The same where it doesn't let this phone in, or has no more room. [ms] */
const REFUSED = 300_000;
const FULL = 60_000;
/** What is new is told by the server; without a word it is asked as often as this. [ms] */
const ASKED = 60_000;
/** The pause after this phone's own store has failed. [ms] */
const STORE = 3_000;

/** Wakes who waits for something. */
class Bell {
  #rung = false;
  #ring = () => {};

  ring() {
    this.#rung = true;
    this.#ring();
  }

  /** Ends at once where it has been rung since. @param {World["pause"]} pause @param {number} ms */
  async wait(pause, ms) {
    const rung = new Promise((/** @type {(value: void) => void} */ resolve) => (this.#ring = resolve));
    if (!this.#rung) await pause(ms, rung);
    this.#rung = false;
    this.#ring = () => {};
  }
}

export class Engine {
  #over = false;
  #again = new Bell();
  #stored = new Bell();
  #news = new Bell();
  #wiped = false;
  #full = false;
  /** Whether all that the server has is here. */
  #read = false;
  /** Of this connection. @type {Set<string>} */
  #large = new Set();
  /** The connection as long as it holds. @type {Link | null} */
  link = null;

  /** @param {World} world @param {Told} told How it stood before. */
  constructor(world, told) {
    this.world = world;
    this.told = told;
  }

  /** Something was recorded here. */
  stored() {
    this.#stored.ring();
  }

  /** There is reason to think that the server can be heard now. */
  again() {
    this.#again.ring();
  }

  stop() {
    this.#over = true;
    this.#again.ring();
    void this.link?.close();
  }

  /** Goes on until it is stopped, or this phone isn't paired any more. */
  async run() {
    for (let tries = 0; !this.#over; tries += 1) {
      const phone = await this.#tried(() => this.world.store.readPhone());
      if (!phone) return;
      this.#read = false;
      const error = await this.#connected(phone).catch((/** @type {unknown} */ thrown) => thrown);
      this.link = null;
      if (this.#over) return;
      if (this.#read) tries = 0;
      const denied = error instanceof Denied;
      this.#say(!denied ? "unreachable" : (await this.world.elsewhere(phone)) ? "other_shop" : "revoked");
      // Half of it by chance.
      const pause = denied ? REFUSED : Math.min(LONGEST, FIRST * 2 ** tries);
      await this.#again.wait(this.world.pause, (pause * (1 + this.world.random())) / 2);
    }
  }

  /** Work on the store of this phone, until it is done. @template T @param {() => Promise<T>} work @returns {Promise<T | null>} null once this is over. */
  async #tried(work) {
    while (!this.#over) {
      try {
        return await work();
      } catch {
        // The page says itself what is wrong with its store.
        await this.#again.wait(this.world.pause, STORE);
      }
    }
    return null;
  }

  /** @param {ShopPhone} phone */
  async #connected(phone) {
    const { store } = this.world;
    await this.#tried(() => store.markAll());
    const link = await this.world.connect(phone);
    this.link = link;
    const ended = link.closed.then(() => {
      throw new Error("closed");
    });
    ended.catch(() => {});
    /** What hangs on a connection that is gone ends with it. @type {Life} */
    const life = { link, over: false, heard: (work) => Promise.race([work, ended]).then((answer) => this.#hear(answer)) };
    try {
      if (this.#over) return;
      const cursor = await this.#begin(life);
      const loops = [this.#reading(life, cursor), this.#sending(life)];
      const stop = () => {
        life.over = true;
        this.#news.ring();
        this.#stored.ring();
        void link.close();
      };
      void ended.catch(stop);
      // Both have ended before another connection is made: two of them at work would move one cursor.
      const done = await Promise.allSettled(loops.map((loop) => loop.finally(stop)));
      const failed = done.find(({ status }) => status === "rejected");
      if (failed) throw /** @type {PromiseRejectedResult} */ (failed).reason;
    } finally {
      await link.close();
    }
  }

  /** From where this phone reads on. @param {Life} life @returns {Promise<ShopCursor>} */
  async #begin({ link, heard }) {
    const { store, build } = this.world;
    const { created, last } = await heard(link.info());
    link.hear("new", () => this.#news.ring());
    this.#large = new Set();
    this.#full = false;
    const cursor = await store.readCursor();
    if (cursor.created !== created || last < cursor.seq) {
      this.#wiped = cursor.created !== null;
      this.#say(null);
      await store.beginAnew(created);
      await store.markAll();
      return store.readCursor();
    }
    this.#say(null);
    // Another build may be able to read what the one before could not.
    return cursor.from !== null && cursor.build !== build ? { ...cursor, seq: cursor.from - 1, unread: 0, from: null } : cursor;
  }

  /** @param {Life} life @param {ShopCursor} cursor */
  async #reading(life, cursor) {
    const read = (/** @type {number} */ seq) => {
      const part = life.heard(life.link.read(seq));
      // Where the connection ends, nobody may be waiting for it any more.
      part.catch(() => {});
      return part;
    };
    while (!life.over) {
      /** @type {Promise<Part> | null} */
      let coming = read(cursor.seq);
      while (coming) {
        /** @type {Part} */
        const { messages, more } = await coming;
        const last = messages.at(-1);
        // The next ones come while these are taken in.
        coming = more && last ? read(last.seq) : null;
        for (let n = 0; n < messages.length; n += AT_ONCE) {
          if (life.over) return;
          cursor = await this.#takeIn(life, messages.slice(n, n + AT_ONCE), cursor);
        }
      }
      if (!this.#read) this.#stored.ring();
      this.#read = true;
      this.#say(null);
      await this.#news.wait(this.world.pause, ASKED);
    }
  }

  /** @param {Life} life @param {Message[]} messages @param {ShopCursor} cursor @returns {Promise<ShopCursor>} Where it stands then. */
  async #takeIn(life, messages, cursor) {
    const { store, build } = this.world;
    /** @type {TarewellEvent[]} */
    const good = [];
    /** @type {Message[]} */
    const bad = [];
    for (const message of messages) {
      if (store.fits(message.event)) good.push(message.event);
      else bad.push(message);
    }
    const next = after(cursor, messages, bad, build);
    for (;;) {
      try {
        this.#cameIn(await store.take(good, next));
        return next;
      } catch (error) {
        if (store.isOfEvents(error)) break;
        await this.#rest(life, STORE);
        if (life.over) throw error;
      }
    }
    // One of them is no record after all. The others do not wait for it.
    if (messages.length === 1) {
      const without = after(cursor, messages, messages, build);
      await store.take([], without);
      return without;
    }
    const half = messages.length >> 1;
    return this.#takeIn(life, messages.slice(half), await this.#takeIn(life, messages.slice(0, half), cursor));
  }

  /** @param {Life} life */
  async #sending(life) {
    const { store } = this.world;
    while (!life.over) {
      // What is from before waits until it is known what of it the server has.
      const some = await store.outgoing(IN_FLIGHT, this.#large, { now: !this.#read });
      if (some.length === 0) {
        if (this.#read) this.#wiped = false;
        this.#say(null);
        await this.#stored.wait(this.world.pause, ASKED);
        continue;
      }
      const sent = await Promise.allSettled(some.map((event) => life.heard(life.link.send(event))));
      const became = (/** @type {string} */ what) => some.filter((_, n) => /** @type {any} */ (sent[n]).value === what).map(({ id }) => id);
      await store.noteSent(became("stored"));
      for (const id of became("large")) this.#large.add(id);
      this.#full = became("full").length > 0;
      this.#say(null);
      const failed = sent.find(({ status }) => status === "rejected");
      if (failed) throw /** @type {PromiseRejectedResult} */ (failed).reason;
      // A server without room is not asked at each record whether it has some.
      if (this.#full) await this.#rest(life, FULL);
    }
  }

  /** Ends earlier only with the connection. @param {Life} life @param {number} ms */
  async #rest(life, ms) {
    const ended = new Bell();
    void life.link.closed.then(() => ended.ring());
    await ended.wait(this.world.pause, ms);
  }

  /** @template T @param {T} answer */
  #hear(answer) {
    this.told = { ...this.told, heard: this.world.now() };
    return answer;
  }

  /** @param {number} n */
  #cameIn(n) {
    if (n > 0) this.world.cameIn(n);
  }

  /** @param {Stands | null} trouble null where the server is heard. */
  #say(trouble) {
    const heard = this.#full ? "full" : this.#wiped ? "wiped" : this.#large.size > 0 ? "too_large" : "together";
    this.told = { ...this.told, state: trouble ?? heard, large: this.#large.size };
    if (!this.#over) this.tell();
  }

  /** Says how it stands, again too. */
  tell() {
    this.world.tell(this.told);
  }
}

/** @typedef {{link: Link, over: boolean, heard: <T>(work: Promise<T>) => Promise<T>}} Life  of one connection */

/** @param {ShopCursor} cursor @param {Message[]} messages @param {Message[]} bad Those of them that can't be read. @param {string} build @returns {ShopCursor} */
function after(cursor, messages, bad, build) {
  const [first] = bad;
  return {
    created: cursor.created,
    seq: messages.at(-1)?.seq ?? cursor.seq,
    unread: cursor.unread + bad.length,
    from: cursor.from ?? first?.seq ?? null,
    build: first ? build : cursor.build,
  };
}
