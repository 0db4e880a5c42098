/**
 * Three phones and a shop server, all by a seed: the app's own modules, once for each phone, over databases in memory, and a
 * server of a hundred lines that loses connections at every call. The three are at work at once. What must come of it is known
 * from sets of ids alone, kept beside.
 */
import { FAILURES, failAt, watch } from "./database_for_tests.mjs";
import assert from "node:assert/strict";
import { AsyncLocalStorage } from "node:async_hooks";
import { IDBFactory } from "fake-indexeddb";
import { canonical } from "../../site/static/js/rules/canonical.mjs";
import { anEvent, chance, MODULES, PHONES, screens } from "./phones_for_tests.mjs";

const HOUR = 3_600_000;
const START = Date.UTC(2026, 10, 30, 8);

const module = (phone, path) => import(`../../site/static/js/${path}?phone=${phone}`);
for (const phone of PHONES) {
  for (const path of ["shop/engine.mjs", "shop/link.mjs", "shop/records.mjs", "store/shop.mjs"]) Object.assign(MODULES.get(phone), await module(phone, path));
}

/** Whose database and memory the work at hand is about. */
const at = new AsyncLocalStorage();
const ofPhone = (name, found) => Object.defineProperty(globalThis, name, { configurable: true, get: () => found(at.getStore()), set: () => {} });

/** From now on what is asked for is of the phone whose work it is. */
function apartByPhone() {
  ofPhone("indexedDB", (state) => state.factory);
  ofPhone("localStorage", ({ values }) => ({
    getItem: (key) => (key === "tarewell-mode" ? "own" : (values.get(key) ?? null)), setItem: (key, value) => values.set(key, String(value)),
  }));
}

/** A pause of a minute takes no longer than a few milliseconds. */
const pause = (ms, rung) => Promise.race([rung, new Promise((resolve) => setTimeout(resolve, Math.min(ms / 2000, 15)))]);
const turn = () => new Promise((resolve) => setImmediate(resolve));

/** The mailbox, as phones meet it: nothing is taken out of it, but it may be lost as a whole. */
export class FakeServer {
  /** @param {() => number} any */
  constructor(any) {
    Object.assign(this, { any, up: true, cuts: 0, most: Infinity, large: Infinity, shop: "aaaaaaaa", n: 0, told: { cut: 0, full: 0, again: 0, seconds: 0 } });
    this.links = new Set();
    this.revoked = new Set();
    this.lose();
  }

  /** All is gone, as when its disk was. */
  lose() {
    Object.assign(this, { created: `2026-11-30T08:00:0${(this.n += 1)}Z`, messages: [], ids: new Map() });
    this.cut();
  }

  /** Every connection ends. */
  cut() {
    for (const link of [...this.links]) link.end();
  }

  /** What stands in the stream, whoever sent it. */
  put(device, text, known = null) {
    if (known !== null && this.ids.has(known)) {
      this.told.seconds += 1;
      return this.ids.get(known);
    }
    const seq = this.messages.length + 1;
    this.messages.push({ seq, device, text });
    if (known !== null) this.ids.set(known, seq);
    for (const link of this.links) if (this.any() < 0.8) setImmediate(() => link.heard.get("new")?.());
    return seq;
  }

  /** Whether this call is cut, and whether before or behind what it does. */
  #fate() {
    if (this.any() >= this.cuts) return "";
    this.told.cut += 1;
    return this.any() < 0.5 ? "before" : "behind";
  }

  /** @param {new (message: string) => Error} Denied */
  async connect({ device }, Denied) {
    await turn();
    if (!this.up) throw new Error("nobody there");
    if (this.revoked.has(device)) throw new Denied("Authorization Violation");
    let end;
    const closed = new Promise((resolve) => (end = resolve));
    const link = { heard: new Map(), closed, open: true };
    link.end = () => {
      link.open = false;
      this.links.delete(link);
      end();
    };
    this.links.add(link);
    const call = async (work) => {
      await turn();
      const fate = this.#fate();
      if (fate === "before") link.end();
      if (!link.open) throw new Error("cut");
      const answer = work();
      await turn();
      if (fate === "behind") link.end();
      if (!link.open) throw new Error("cut");
      return answer;
    };
    return {
      info: () => call(() => ({ created: this.created, last: this.messages.length })),
      send: (event) => call(() => {
        const text = canonical(event);
        if (text.length > this.large) return "large";
        if (this.messages.filter((message) => message.device === device).length >= this.most) {
          this.told.full += 1;
          return "full";
        }
        // After a while the server has forgotten what it had.
        this.put(device, text, this.any() < 0.9 ? text : null);
        return "stored";
      }),
      read: (after) => call(() => {
        // Some of what was read already may come once more.
        const again = this.any() < 0.2 ? Math.min(after, Math.floor(this.any() * 5)) : 0;
        this.told.again += again;
        const messages = this.messages.slice(after - again, after + 1 + Math.floor(this.any() * 9));
        return {
          messages: messages.map(({ seq, text }) => ({ seq, event: parsed(text) })),
          more: (messages.at(-1)?.seq ?? Infinity) < this.messages.length,
        };
      }),
      ask: () => call(() => ({})),
      hear: (name, heard) => link.heard.set(name, heard),
      scales: () => () => {},
      closed,
      close: async () => link.end(),
    };
  }
}

const parsed = (text) => {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
};

/** One phone: its database, its memory, and its engine while it is in range. */
export class ShopPhone {
  constructor(n, server, any = () => 0.5) {
    Object.assign(this, { n, server, any, app: MODULES.get(n), engine: null, ended: null, told: [], build: "b1", ids: new Set(), off: 0, device: null });
    this.state = { factory: new IDBFactory(), values: new Map() };
  }

  /** @template T @param {(app: any) => Promise<T>} work @returns {Promise<T>} */
  at(work) {
    return at.run(this.state, () => work(this.app));
  }

  /** A new connection to the database, as after the page was opened anew. */
  restart = () => this.at((app) => app.disconnect());

  /** As the page does it: what was at work before begins anew. */
  async pair(device, shop = "aaaaaaaa") {
    const inRange = this.engine !== null;
    await this.leave();
    this.device = device;
    const seed = `SUA${this.n}SECRETSEED${device.toUpperCase()}`;
    await this.at((app) => app.storePhone({ seed, device, shop, name: "tarewell.local", called: `Phone ${this.n}` }));
    if (inRange) this.enter();
  }

  /** In range, until `leave`. */
  enter() {
    if (this.engine) return;
    this.at(async ({ Engine, store, Denied }) => {
      this.engine = new Engine({
        store, pause, random: this.any, build: this.build, cameIn: () => {},
        connect: (phone) => this.server.connect(phone, Denied),
        elsewhere: async ({ shop }) => shop !== this.server.shop,
        tell: (told) => this.told.push(told),
        now: () => new Date(this.app.clock.now()).toISOString(),
      }, { state: "connecting", heard: null, large: 0 });
      this.ended = this.engine.run();
    });
  }

  async leave() {
    this.engine?.stop();
    await this.ended;
    this.engine = null;
  }

  get stands() {
    return this.told.at(-1)?.state;
  }

  async stored() {
    return this.at(async (app) => {
      const all = [];
      for await (const some of app.everyEvent()) all.push(...some);
      return all;
    });
  }

  standing = () => this.at((app) => app.readStanding());

  /** Whether all that is here is there, and all that is there has been read. */
  async isTogether() {
    const { waiting } = await this.standing();
    const { created, seq } = await this.at((app) => app.readCursor());
    const marking = await this.at((app) => app.transact("readonly", (transaction) => transaction.objectStore("drafts").getKey("shop:marking")));
    return marking === undefined && waiting === 0 && created === this.server.created && seq === this.server.messages.length;
  }

  /** A new database, with another number's clock. @param {() => number} now @param {string} ids */
  async fresh(now, ids) {
    let n = 0;
    await this.restart();
    await this.at((app) => app.countEvents());
    Object.assign(this.app.clock, { now: () => now() + this.off, uuid: () => `${ids}-${this.n}-${(n += 1)}` });
  }
}

/** Waits for something that comes about by itself. @param {() => boolean | Promise<boolean>} found @param {string} what */
export async function until(found, what) {
  const end = Date.now() + 60_000;
  while (!(await found())) {
    assert.ok(Date.now() < end, `waited too long: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 3));
  }
}

/** Some phones, each with an empty database. @param {() => number} any @param {string} ids */
export async function aShop(any, ids, { now = () => START, of = PHONES } = {}) {
  apartByPhone();
  const server = new FakeServer(any);
  const phones = of.map((n) => new ShopPhone(n, server, any));
  for (const phone of phones) await phone.fresh(now, ids);
  return { server, phones };
}

const DEVICES = "abcdefghijklmnop";
/** @param {number} n */
export const deviceOf = (n) => `device${DEVICES[n % 16]}${DEVICES[(n >> 4) % 16]}aa`;

/** @param {number} seed @param {number} deeds @returns {Promise<{text: string, told: Record<string, number>}>} What all three end with, and what happened. */
export async function simulate(seed, deeds = 24) {
  const any = chance(seed);
  const one = (list) => list[Math.floor(any() * list.length)];
  const told = { recorded: 0, copies: 0, crashed: 0, lost: 0, revoked: 0, full: 0, cut: 0, again: 0, forged: 0, seconds: 0 };
  let now = START;
  let devices = seed * 7;
  // Of its own: how often the engines ask it must not change what happens in the shop.
  const { server, phones } = await aShop(chance(seed + 0x5eed), `s${seed}`, { now: () => now });
  /** By id, as a phone said that it had stored it. @type {Map<string, string>} */
  const recorded = new Map();
  let newest = null;
  const packed = new Map();
  const newDevice = () => deviceOf((devices += 1));

  const record = (phone) => phone.at(async (app) => {
    const event = anEvent(phone.n, any, one, newest, packed);
    const stored = await app.append(event).catch((error) => assert.ok(error instanceof app.CodeTaken, `${error}: ${error.cause}`));
    if (!stored) return;
    assert.equal(stored.device, phone.device ?? undefined);
    recorded.set(stored.id, canonical(stored));
    phone.ids.add(stored.id);
    if (stored.kind === "weighed") newest = stored;
    if (stored.kind === "packed" || stored.kind === "sent") packed.set(stored.id, stored);
    told.recorded += 1;
    phone.engine?.stored();
  });

  const copy = async (from, to) => {
    const bytes = await from.at(async (app) => new Uint8Array(await (await app.writeCopy(app.everyEvent())).arrayBuffer()));
    const text = new TextDecoder().decode(bytes);
    for (const { device } of phones) assert.ok(!text.includes("SECRETSEED") && !(device && text.includes(device.toUpperCase())), "a key went into a copy");
    await to.at(async (app) => {
      const blob = new Blob([bytes]);
      const read = await app.readCopy(blob);
      assert.ok("events" in read, read.refused);
      await app.merge(() => app.eventsIn(blob, read.sha256));
    });
    to.engine?.stored();
    told.copies += 1;
  };

  /** What a paired phone may send that is not of this app: nothing of it may stop the others. */
  const forge = () => {
    // Of another phone's it knows what it has read.
    const known = one(server.messages.map(({ text }) => parsed(text)).filter((event) => recorded.has(event?.id)));
    const other = known && { ...known, local: "2026-11-30T08:00:00+00:00", values: { name: "forged" } };
    server.put("evilphonea", one([
      "no json", "[]", '"text"', "{}", '{"id":"x"}', '{"id":"<b>","kind":"saved"}', JSON.stringify({ __proto__: null, id: "y", kind: "new_kind" }),
      ...(other ? [canonical(other), canonical({ ...other, subject: "<script>" })] : []),
    ]));
    told.forged += 1;
  };

  for (const phone of phones.slice(0, 2)) {
    // What was recorded before a phone was paired goes out too.
    for (let n = Math.floor(any() * 3); n > 0; n -= 1) await record(phone);
    await phone.pair(newDevice());
  }
  for (let deed = 0; deed < deeds; deed += 1) {
    now += Math.floor(any() * 2 * HOUR);
    server.cuts = one([0, 0.03, 0.1, 0.3]);
    const phone = one(phones);
    const kind = any();
    if (kind < 0.5) for (let n = 1 + Math.floor(any() * 3); n > 0; n -= 1) await record(phone);
    else if (kind < 0.62) phone.enter();
    else if (kind < 0.7) await phone.leave();
    else if (kind < 0.74) server.cut();
    else if (kind < 0.78) server.up = !server.up;
    else if (kind < 0.81) phone.off = one([-24 * HOUR, 0, 24 * HOUR]);
    else if (kind < 0.84) await copy(phone, one(phones.filter((other) => other !== phone)));
    else if (kind < 0.88) forge();
    else if (kind < 0.9) server.most = one([3, Infinity]);
    else if (kind < 0.92 && phone.device) (server.revoked.add(phone.device), server.cut(), (told.revoked += 1));
    else if (kind < 0.94) (server.lose(), (told.lost += 1));
    else if (kind < 0.98) {
      // The store of whichever phone is at work fails, as browsers have been seen to.
      for (const each of phones) each.enter();
      await record(phone);
      failAt(1 + Math.floor(any() * 30), FAILURES[one(Object.keys(FAILURES))]);
      for (let n = 0; n < 20; n += 1) await turn();
      told.crashed += watch.hit ? 1 : 0;
      failAt(0, () => {});
    } else if (!phone.device) await phone.pair(newDevice());
    for (let n = Math.floor(any() * 30); n > 0; n -= 1) await turn();
  }

  // At the end all is well: who was thrown out, or never was in, is paired; then each is as the others.
  Object.assign(server, { up: true, cuts: 0, most: Infinity });
  for (const phone of phones) {
    if (!phone.device || server.revoked.has(phone.device)) await phone.pair(newDevice());
    phone.enter();
    phone.engine.again();
  }
  const all = async () => (await Promise.all(phones.map((phone) => phone.isTogether()))).every(Boolean);
  await until(all, `seed ${seed}: all are together`);
  for (const phone of phones) await phone.leave();
  const ends = [];
  for (const phone of phones) {
    const events = await phone.stored();
    assert.deepEqual(new Set(events.map(({ id }) => id)), new Set(recorded.keys()), `seed ${seed}: an event is lost, or one that is none was taken`);
    for (const event of events) assert.equal(canonical(event), recorded.get(event.id), `seed ${seed}: an event was changed`);
    ends.push(await phone.at(async (app) => ({
      copy: await (await app.writeCopy(app.everyEvent())).text(),
      state: canonical(await screens(app, events)),
    })));
  }
  for (const { copy: text, state } of ends) {
    assert.ok(text === ends[0].copy, `seed ${seed}: the copies differ`);
    assert.ok(state === ends[0].state, `seed ${seed}: the screens differ`);
  }
  for (const phone of phones) await phone.restart();
  return { text: ends[0].copy, told: { ...told, ...server.told } };
}

/** @param {number} from @param {number} seeds @param {number} [deeds] */
export async function run(from, seeds, deeds) {
  const all = {};
  for (let seed = from; seed < from + seeds; seed += 1) {
    const { told } = await simulate(seed, deeds);
    for (const [what, n] of Object.entries(told)) all[what] = (all[what] ?? 0) + n;
  }
  return all;
}
