/**
 * Three phones that record, hand copies to each other and lose things, all by a seed: the app's own modules, once for each
 * phone, over databases in memory. What must come of it is known from sets of ids alone, kept beside.
 */
import { FAILURES, failAt, watch } from "./database_for_tests.mjs";
import assert from "node:assert/strict";
import { IDBFactory } from "fake-indexeddb";
import { canonical } from "../../site/static/js/rules/canonical.mjs";
import { foldBlock } from "../../site/static/js/rules/block.mjs";
import { foldWorkshop, inOrder } from "../../site/static/js/rules/fold.mjs";
import { batchOf, logEntry } from "../../site/static/js/rules/log.mjs";
import { standingPackings } from "../../site/static/js/rules/packed.mjs";
import { standingOf, standsFor } from "../../site/static/js/rules/standing.mjs";
import { EVERY_KIND, ofKind } from "./shapes_for_tests.mjs";

const HOUR = 3_600_000;
const DAY = 24 * HOUR;
const START = Date.UTC(2026, 10, 30, 8);
export const PHONES = [1, 2, 3];

const module = (phone, path) => import(`../../site/static/js/${path}?phone=${phone}`);
export const MODULES = new Map(await Promise.all(PHONES.map(async (phone) => [phone, {
  ...(await module(phone, "store/events.mjs")), ...(await module(phone, "store/backup.mjs")), ...(await module(phone, "store/kept.mjs")),
  ...(await module(phone, "store/clock.mjs")), ...(await module(phone, "store/log.mjs")), ...(await module(phone, "store/standing.mjs")), ...(await module(phone, "store/database.mjs")),
}])));

// A busy machine is no fault of the store.
for (const { patience } of MODULES.values()) Object.assign(patience, { open: 30_000, step: 30_000 });

/** Numbers from 0 to 1, the same ones for the same seed (mulberry32). @param {number} seed */
export function chance(seed) {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), state | 1);
    t = (t + Math.imul(t ^ (t >>> 7), t | 61)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

const CONFIRM = {
  key: "check:zero", kind: "confirm", safety: false, title: "Check the zero", how: "Nothing stands on it.", stop: null, pour: null,
  lot: null, scale: null, unit: null, decimals: null, division: null, most: null, target: null, low: null, high: null, target_text: null,
  band_text: null, gross_text: null, close_valve: null, close_valve_text: null, fine: null, twice: false, questions: [],
  seconds: null, next: null,
};
const weigh = (n) => ({
  ...CONFIRM, key: `oil:${n}`, kind: "weigh", title: "Pour", pour: `oil:${n}`, unit: "kg", decimals: 2, division: 2, target: 1634, low: 1632, high: 1636,
});
const STEPS = [CONFIRM, weigh(0), weigh(1), weigh(2)];
const ASKED = { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 };
const CODES = ["QM-1", "QM-2", "QM-3", "QM-4"];

const CHECKS = [{ key: "look", state: "passed", value: null, limit: null, source: "" }];

/** A deed from the rack to the customer: a packed lot is begun under few ids, so that one phone takes back what another sends of. */
function aSale(make, any, one, packed) {
  const release = `release:${one(CODES)}/${one([1, 2])}`;
  const lot = `packed:p-${one([1, 2, 3])}`;
  const bars = 1 + Math.floor(any() * 40);
  const known = one([...packed.values(), null]);
  return one([
    () => make("released", release, { person: "Q", values: {}, of_formula: "Marsh", checks: CHECKS, bars: 250 }),
    () => make("sample_kept", release, { person: "Q", bars: 2, place: "Shelf", until: "2029-11-30" }),
    ...Array(3).fill(() => make("packed", lot, { person: "Q", code: "QM-1-P1", parts: [{ code: one(CODES), block: 1, bars: 100 }] })),
    ...Array(3).fill(() => make("sent", lot, { person: "J", outlet: one(["o-1", "o-2"]), outlet_name: "Shop", bars })),
    () => make("came_back", lot, { person: "J", outlet: one(["o-1", "o-2"]), outlet_name: "Shop", bars }),
    ...(known ? Array(3).fill(() => make("packed_taken_back", known.subject, { person: "Q", takes: known.id, reason: "wrong lot" })) : []),
  ])();
}

/** One event of a sort that makers record, about few enough things that phones meet at each. */
export function anEvent(phone, any, one, newest, packed) {
  const make = MODULES.get(phone).newEvent;
  const block = `block:${one(CODES)}/${one([1, 2])}`;
  return one([
    () => make("saved", `mould:m-${one([1, 2])}`, { values: { name: `Mold ${Math.floor(any() * 99)}` } }),
    () => make("saved", "formula:f-1", { values: { name: one(["Marsh", "Reed", "Samphire"]) }, revision: 1 + Math.floor(any() * 9) }),
    () => make("removed", `mould:m-${one([1, 2])}`),
    () => make("settings", "settings:shop", { values: { units: one(["us", "metric"]) } }),
    ...Array(2).fill(() => {
      const code = one(CODES);
      return make("issued", `batch:${code}`, { code, html: "<p>1</p>", steps: STEPS, blocks: 2, formula: { event: "e", name: "Marsh" } });
    }),
    ...Array(5).fill(() => make("weighed", block, {
      person: one(["Q", "J"]), step: one(STEPS).key, reading: one(["16.34", "16.30"]), unit: "kg", lot: null, asked: ASKED, question: null, mode: "net",
    })),
    () => make("checked", block, { person: "Q", step: "check:zero" }),
    () => (newest ? make("corrected", newest.subject, { person: "J", corrects: newest.id, reading: "16.35", unit: "kg", reason: "misread" })
      : make("checked", block, { person: "J", step: "check:zero" })),
    () => make("closed", block, { person: "Q", outcome: "poured", reason: "", record: null, html: "" }),
    // Whatever else there is to record, and that it was taken back.
    ...Array(4).fill(() => {
      const { kind, subject, fields } = ofKind(one(EVERY_KIND), one(CODES));
      return make(kind, subject, "takes" in fields && newest ? { ...fields, takes: newest.id } : fields);
    }),
    ...Array(4).fill(() => aSale(make, any, one, packed)),
  ])();
}

/** @param {number} seed @param {number} deeds How much happens. @returns {Promise<{text: string, told: Record<string, number>}>} The copy that all three end with, and what happened. */
export async function simulate(seed, deeds = 24) {
  const any = chance(seed);
  const one = (list) => list[Math.floor(any() * list.length)];
  const told = { recorded: 0, taken: 0, damaged: 0, dropped: 0, crashed: 0, wiped: 0, gone: 0 };
  let now = START;
  let ids = 0;
  /** What each phone must hold. @type {Map<number, {ids: Set<string>, values: Map<string, string>, factory: any, lost: boolean}>} */
  const phones = new Map();
  /** Every event by its text, as a phone said that it had stored it. @type {Map<string, string>} */
  const recorded = new Map();
  /** Copies that lie somewhere. @type {{bytes: Uint8Array, ids: Set<string>, from: number}[]} */
  const copies = [];
  let newest = null;
  /** What any phone has told of packed lots, by id. */
  const packed = new Map();

  /** @template T @param {number} phone @param {(app: any, state: any) => Promise<T>} work @returns {Promise<T>} */
  const at = (phone, work) => {
    const state = phones.get(phone);
    globalThis.indexedDB = state.factory;
    globalThis.localStorage = {
      getItem: (key) => (key === "tarewell-mode" ? "own" : (state.values.get(key) ?? null)), setItem: (key, value) => state.values.set(key, String(value)),
    };
    return work(MODULES.get(phone), state);
  };
  const stored = async (app) => {
    const all = [];
    for await (const some of app.everyEvent()) all.push(...some);
    return all;
  };
  const restart = (phone) => at(phone, (app) => app.disconnect());
  /** The work, with one of its calls to the database failing as browsers have been seen to fail; true where it was done. */
  const crashing = async (work, calls) => {
    failAt(1 + Math.floor(any() * calls), FAILURES[one(Object.keys(FAILURES))]);
    const done = await work().then(() => true, () => false);
    const { hit } = watch;
    failAt(0, () => {});
    told.crashed += hit ? 1 : 0;
    return done;
  };
  const idsHere = (phone) => at(phone, (app) => app.allIds());

  for (const phone of PHONES) {
    const state = { ids: new Set(), values: new Map(), factory: new IDBFactory(), lost: false };
    phones.set(phone, state);
    await restart(phone);
    await at(phone, (app) => app.countEvents());
    // A clock may be off by a day either way, and be set right or wrong later.
    state.off = one([-DAY, -HOUR, 0, 0, HOUR, DAY]);
    Object.assign(MODULES.get(phone).clock, { now: () => now + state.off, uuid: () => `s${seed}-${phone}-${(ids += 1)}` });
  }

  const record = (phone) => at(phone, async (app, state) => {
    const event = anEvent(phone, any, one, newest, packed);
    if (state.lost) return assert.rejects(app.append(event), (error) => error.code === "store-lost" || error instanceof app.Refusal);
    const before = state.ids.size;
    const ended = (answer) => {
      recorded.set(answer.id, JSON.stringify(answer));
      state.ids.add(answer.id);
      if (answer.kind === "weighed") newest = answer;
      if (answer.kind === "packed" || answer.kind === "sent") packed.set(answer.id, answer);
      told.recorded += 1;
    };
    const tried = async () => ended(await app.append(event));
    if (any() < 0.15 && !(await crashing(tried, 12))) {
      await restart(phone);
      assert.equal((await app.allIds()).size, before, "half recorded");
    }
    // The phone tries again, whether or not it got through: it is there once.
    if (!recorded.has(event.id)) await tried().catch((error) => assert.ok(error instanceof app.CodeTaken, String(error)));
  });

  const copy = (phone) => at(phone, async (app, state) => {
    if (state.lost) return;
    const bytes = new Uint8Array(await (await app.writeCopy(app.everyEvent())).arrayBuffer());
    copies.push({ bytes, ids: new Set(state.ids), from: phone });
  });

  const take = async (phone, file, crash) => at(phone, async (app, state) => {
    const blob = new Blob([file.bytes]);
    const read = await app.readCopy(blob);
    assert.ok("events" in read, read.refused);
    const merging = () => app.merge(() => app.eventsIn(blob, read.sha256));
    if (crash && !(await crashing(merging, 3 * file.ids.size + 12))) {
      await restart(phone);
      assert.deepEqual(await app.allIds(), state.ids, "taken in by half");
      if (any() < 0.3) return;
    }
    await merging();
    for (const id of file.ids) state.ids.add(id);
    told.taken += 1;
    state.lost &&= app.remembered() > state.ids.size;
  });

  const deliver = async (phone) => {
    if (copies.length === 0) return;
    const file = one(copies);
    const kind = any();
    if (kind < 0.1) {
      told.dropped += 1;
      copies.splice(copies.indexOf(file), 1);
    } else if (kind < 0.25) {
      const bytes = file.bytes.slice(0, kind < 0.17 ? Math.floor(any() * file.bytes.length) : undefined);
      if (bytes.length === file.bytes.length) bytes[Math.floor(any() * bytes.length)] ^= 1 << Math.floor(any() * 8);
      await at(phone, async (app) => assert.ok((await app.readCopy(new Blob([bytes]))).refused, "a damaged copy was taken"));
      told.damaged += 1;
    } else {
      await take(phone, file, any() < 0.25);
    }
  };

  /** The browser clears the store; what it remembers beside it stays. */
  const wipe = async (phone) => {
    const state = phones.get(phone);
    await restart(phone);
    state.factory = new IDBFactory();
    // What was missing before is missing still.
    state.lost ||= state.ids.size > 0;
    state.ids = new Set();
    told.wiped += 1;
    await at(phone, async (app) => {
      assert.equal(await app.countEvents(), 0);
      if (state.lost) await assert.rejects(app.workshopEvents(), { code: "store-lost" });
    });
    const own = copies.filter(({ from }) => from === phone).at(-1);
    if (own) await take(phone, own, false);
    if (state.lost && any() < 0.5) {
      await at(phone, (app) => app.goOnWithout());
      state.lost = false;
    }
  };

  for (let deed = 0; deed < deeds; deed += 1) {
    now += Math.floor(any() * 2 * HOUR);
    const phone = one(PHONES);
    const kind = any();
    if (kind < 0.5) for (let n = 1 + Math.floor(any() * 3); n > 0; n -= 1) await record(phone);
    else if (kind < 0.68) await copy(phone);
    else if (kind < 0.93) await deliver(phone);
    else if (kind < 0.96) phones.get(phone).off = one([-DAY, 0, DAY]);
    else if (kind < 0.98) await restart(phone);
    else if (kind < 0.99) await at(phone, (app, state) => (state.lost ? undefined : app.makeLog().then(() => app.makeStanding())));
    else await wipe(phone);
    assert.deepEqual(await idsHere(phone), phones.get(phone).ids, `seed ${seed}, deed ${deed}`);
  }

  // At the end every file that is left is taken in once more by somebody, then a copy goes round until it has been everywhere.
  const expected = new Set([...PHONES.flatMap((phone) => [...phones.get(phone).ids]), ...copies.flatMap((file) => [...file.ids])]);
  told.gone = recorded.size - expected.size;
  for (const phone of PHONES) phones.get(phone).lost = false;
  for (const file of copies.splice(0).sort(() => any() - 0.5)) await take(one(PHONES), file, false);
  for (const [from, to] of [[1, 2], [2, 3], [3, 1], [1, 2]]) {
    await copy(from);
    await take(to, copies.at(-1), false);
  }
  for (const phone of PHONES) await at(phone, (app) => app.goOnWithout());
  const ends = [];
  for (const phone of PHONES) {
    ends.push(await at(phone, async (app) => {
      const events = await stored(app);
      assert.deepEqual(new Set(events.map(({ id }) => id)), expected, `seed ${seed}: an event is lost`);
      for (const event of events) assert.deepEqual(event, JSON.parse(recorded.get(event.id)), `seed ${seed}: an event was changed`);
      assert.equal(app.remembered(), expected.size);
      return {
        copy: await (await app.writeCopy(app.everyEvent())).text(),
        state: canonical(await screens(app, events)),
      };
    }));
  }
  for (const { copy: text, state } of ends) {
    assert.ok(text === ends[0].copy, `seed ${seed}: the copies differ`);
    assert.ok(state === ends[0].state, `seed ${seed}: the screens differ`);
  }
  return { text: ends[0].copy, told };
}

/** What screens are made of, and that it is the same whatever order the events came in. */
export async function screens(app, events) {
  const blocks = [...new Set(events.map(({ subject }) => subject))].filter((subject) => subject.startsWith("block:")).sort();
  const folded = (list) => canonical([
    foldWorkshop({}, list),
    blocks.map((subject) => {
      const { done, again, ...rest } = foldBlock(STEPS, list.filter((event) => event.subject === subject));
      return [subject, [...done], [...again], rest];
    }),
    standingPackings(inOrder(list)).map(({ id }) => id).sort(),
  ]);
  nothingOut(events);
  assert.ok(folded([...events].reverse().concat(events)) === folded(events), "the order of events, or one come twice, changes a screen");
  // The lists that are written beside the events say what the events say.
  const inHand = blocks.filter((subject) => !events.some((event) => event.subject === subject && event.kind === "closed"));
  const listed = await app.blocksInHand(99);
  assert.deepEqual(listed.map(({ subject }) => subject).sort(), inHand);
  for (const { subject, at } of listed) assert.equal(at, inOrder(events.filter((event) => event.subject === subject)).at(-1).at);
  await app.makeLog();
  const log = (await app.allLog()).sort((a, b) => (a.code < b.code ? -1 : 1));
  assert.ok(canonical(log) === canonical(CODES.flatMap((code) => logEntry(inOrder(events.filter((event) => batchOf(event)?.[0] === code))) ?? [])), "the log says otherwise than the events");
  await app.makeStanding();
  const stands = await app.STANDING.whole((transaction) => transaction.objectStore("standing").getAll(IDBKeyRange.lowerBound("", true)));
  const keys = [...new Set(events.flatMap(({ subject }) => standsFor(subject) ?? []))].sort();
  assert.ok(canonical(stands) === canonical(keys.flatMap((key) => standingOf(key, events.filter(({ subject }) => standsFor(subject) === key)) ?? [])), "what stands is otherwise than the events");
  const issued = inOrder(events).filter(({ kind }) => kind === "issued");
  assert.deepEqual((await app.allBatches()).map(({ id }) => id).sort(), issued.map(({ id }) => id).sort());
  return [folded(events), listed, log, stands, await app.recentBatches(99)];
}

/** Whatever one phone took back while another sold: of no bar that is out the lot is gone. By going through all that was sent. */
function nothingOut(events) {
  const standing = new Set(standingPackings(events).map(({ id }) => id));
  for (const sent of events.filter(({ kind }) => kind === "sent")) {
    if (events.some(({ kind, takes }) => kind === "packed_taken_back" && takes === sent.id)) continue;
    for (const { id } of events.filter(({ kind, subject }) => kind === "packed" && subject === sent.subject)) assert.ok(standing.has(id), `bars of ${id} are out, and it is gone`);
  }
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
