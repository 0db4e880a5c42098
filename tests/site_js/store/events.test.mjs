import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { clock } from "../../../site/static/js/store/clock.mjs";
import { disconnect, onLetGo, opener, patience, StoreError, transact } from "../../../site/static/js/store/database.mjs";
import { dropDraft, loadDraft, storeDraft } from "../../../site/static/js/store/drafts.mjs";
import {
  append, batch, batchesOf, ChangedElsewhere, CodeTaken, everyEvent, IdTaken, merge, newEvent, recentBatches, workshopEvents,
} from "../../../site/static/js/store/events.mjs";
import { back, copyOf } from "../copies_for_tests.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const saved = (name, fields = {}) => newEvent("saved", `mould:${name}`, { values: { name }, ...fields });
const issued = (code, fields = {}) =>
  newEvent("issued", `batch:${code}`, {
    code,
    html: "<p>sheet</p>",
    formula: { id: "f", revision: 1, event: "f-1", name: "Plain" },
    ...fields,
  });

test("an event carries an id, the instant in UTC and the local time with its offset", () => {
  const event = saved("a");
  assert.match(event.id, /^[0-9a-f-]{36}$/);
  assert.match(event.at, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/);
  assert.match(event.local, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$/);
  assert.equal(Math.floor(Date.parse(event.local) / 1000), Math.floor(Date.parse(event.at) / 1000));
});

test("what is stored comes back, sheets apart from the workshop", async () => {
  const mould = await append(saved("a"));
  const sheet = await append(issued("QM-1"));
  assert.deepEqual(await workshopEvents(), [mould]);
  assert.deepEqual(await batch("QM-1"), [sheet]);
  assert.deepEqual((await allEvents()).length, 2);
});

test("storing the same event again changes nothing, another under its id is refused", async () => {
  const event = saved("a");
  await append(event);
  await append(event);
  assert.equal((await allEvents()).length, 1);
  await assert.rejects(append({ ...event, values: { name: "other" } }), IdTaken);
  assert.equal((await allEvents())[0].values.name, "a");
});

test("a batch code is issued once, also by two at the same time", async () => {
  const outcomes = await Promise.allSettled([append(issued("QM-1")), append(issued("QM-1"))]);
  assert.deepEqual(outcomes.map(({ status }) => status).sort(), ["fulfilled", "rejected"]);
  assert.ok(outcomes.find(({ status }) => status === "rejected").reason instanceof CodeTaken);
  assert.equal((await batch("QM-1")).length, 1);
});

test("a change made on an older state is refused", async () => {
  const first = await append(saved("a"), null);
  await append(saved("a"), first.id);
  await assert.rejects(append(saved("a"), first.id), ChangedElsewhere);
  await assert.rejects(append(saved("a"), null), ChangedElsewhere);
  assert.equal((await allEvents()).length, 2);
});

test("with the clock set back a change still sorts after the one before", async (context) => {
  const first = await append(saved("a"));
  context.mock.method(clock, "now", () => Date.parse(first.at) - 3_600_000);
  const second = await append(saved("a"));
  assert.ok(second.at > first.at);
  assert.equal((await workshopEvents()).length, 2);
});

test("the newest batches come first, and a formula's are found", async () => {
  for (const n of [1, 2, 3]) await append(issued(`QM-${n}`, { at: undefined }));
  const codes = (await recentBatches(2)).map(({ code }) => code);
  assert.equal(codes.length, 2);
  assert.deepEqual((await batchesOf(["f-1", "f-2"])).length, 3);
});

test("merging is a union, all or nothing", async () => {
  const known = await append(saved("a"));
  const news = [saved("b"), issued("QM-1")];
  assert.equal(await merge([known, ...news]), 2);
  assert.equal(await merge([known, ...news]), 0);
  await assert.rejects(merge([saved("c"), { ...known, values: { name: "forged" } }]), IdTaken);
  assert.equal((await allEvents()).length, 3);
  assert.equal((await recentBatches(5)).length, 1);
});

test("two phones that gave one code to two batches keep both sheets", async () => {
  await append(issued("QM-1"));
  await merge([issued("QM-1")]);
  assert.equal((await batch("QM-1")).length, 2);
});

test("a draft is kept, replaced and dropped", async () => {
  await storeDraft("batch#", { blocks: "2" }, null);
  await storeDraft("batch#", { blocks: "3" }, "e1");
  const { values, base } = await loadDraft("batch#");
  assert.deepEqual({ values, base }, { values: { blocks: "3" }, base: "e1" });
  await dropDraft("batch#");
  assert.equal(await loadDraft("batch#"), undefined);
});

const WORKS = {
  "storing an event": () => append(saved("new"), null),
  "issuing a batch": () => append(issued("QM-9")),
  "merging a copy": () => merge([saved("new"), issued("QM-9")]),
  "storing a draft": () => storeDraft("key", { a: "1" }, null),
};
const STORED = {
  "storing an event": async () => (await allEvents()).length === 1,
  "issuing a batch": async () => (await batch("QM-9")).length === 1 && (await recentBatches(9)).length === 1,
  "merging a copy": async () => (await allEvents()).length === 2 && (await recentBatches(9)).length === 1,
  "storing a draft": async () => (await loadDraft("key"))?.values.a === "1",
};
const EMPTY = async () => (await allEvents()).length === 0 && (await loadDraft("key")) === undefined;

for (const [workName, work] of Object.entries(WORKS)) {
  for (const [failureName, failure] of Object.entries(FAILURES)) {
    test(`${workName}, ${failureName} at each call in turn: stored, or said`, async () => {
      for (let nth = 1; ; nth += 1) {
        await freshDatabase();
        failAt(nth, failure);
        const fault = await work().then(() => null, (error) => error);
        const hit = watch.hit;
        failAt(0, failure);
        await disconnect();
        if (fault) {
          assert.ok(fault instanceof StoreError, `call ${nth}: ${fault}`);
          assert.ok(await EMPTY(), `call ${nth}: half stored`);
          await work();
        }
        assert.ok(await STORED[workName](), `call ${nth}: said to be stored, but is not`);
        if (!hit) break;
      }
    });
  }
}

test("a lost connection is replaced without a word", async () => {
  for (const name of ["closed connection", "unknown error", "transaction aborted by the browser"]) {
    await freshDatabase();
    failAt(2, FAILURES[name]);
    await append(saved("a"));
    assert.ok(watch.hit, name);
    assert.equal((await allEvents()).length, 1, name);
  }
});

test("a full device and a refused store are told apart", async () => {
  for (const [name, code] of [["no room", "store-full"], ["storage refused", "no-store"]]) {
    await freshDatabase();
    failAt(2, FAILURES[name]);
    await assert.rejects(append(saved("a")), { code });
  }
});

test("a database that never opens is given up after the set time, and its late connection is closed", async (context) => {
  let closed = false;
  let open = (_database) => {};
  context.mock.method(opener, "open", () => new Promise((resolve) => (open = resolve)));
  context.mock.property?.(patience, "open", 50);
  patience.open = 50;
  await assert.rejects(append(saved("a")), { code: "store-slow" });
  open({ close: () => (closed = true) });
  await new Promise((resolve) => setTimeout(resolve, 10));
  assert.ok(closed);
  patience.open = 2000;
});

test("an opening that another tab blocks says so", async (context) => {
  context.mock.method(opener, "open", (_name, _version, { blocked }) => {
    blocked();
    return new Promise(() => {});
  });
  patience.open = 50;
  await assert.rejects(append(saved("a")), { code: "store-blocked" });
  patience.open = 2000;
});

test("a transaction that never ends is given up after the set time", async (context) => {
  const transaction = { done: new Promise(() => {}), abort() {}, objectStore: () => ({ get: () => new Promise(() => {}) }) };
  context.mock.method(opener, "open", async () => ({ transaction: () => transaction, close() {} }));
  await assert.rejects(append(saved("a")), { code: "store-slow" });
});

test("asked to let go for a newer build, it closes its connection and says so", async () => {
  let told;
  onLetGo((gone) => (told = gone));
  await append(saved("a"));
  const opened = await new Promise((resolve, reject) => {
    const request = indexedDB.open("tarewell", 99);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  assert.equal(told, false);
  opened.close();
});

const pause = (time) => new Promise((resolve) => setTimeout(resolve, time));

test("work that goes on has no deadline, work that stands still has", async (context) => {
  // Time that passes as the test says: on a busy machine the real one passes between two steps.
  context.mock.timers.enable({ apis: ["setTimeout"] });
  const steps = (tell) => transact("readonly", async (transaction, going) => {
    for (let step = 0; step < 15; step += 1) {
      await transaction.objectStore("events").get("none");
      context.mock.timers.tick(100);
      if (tell) going();
    }
  }, 400);
  await steps(true);
  await assert.rejects(steps(false), { code: "store-slow" });
});

test("a copy that comes some at a time, with pauses, is taken in whole or not at all", async () => {
  const known = await append(saved("known"));
  const events = Array.from({ length: 40 }, (_, n) => saved(`m-${n}`));
  async function* slowly(failing) {
    for (let n = 0; n < events.length; n += 10) {
      await pause(20);
      if (failing && n === 30) throw new DOMException("the file has gone", "NotReadableError");
      yield events.slice(n, n + 10);
    }
  }
  await assert.rejects(merge(() => slowly(true)), StoreError);
  assert.deepEqual(await allEvents(), [known]);
  const told = [];
  assert.equal(await merge(() => slowly(false), (n) => told.push(n)), 40);
  assert.deepEqual(told, [10, 20, 30, 40]);
  assert.equal((await allEvents()).length, 41);
});

test("everything is read some at a time, in order, and each once", async () => {
  const events = Array.from({ length: 1203 }, (_, n) => saved(`m-${n}`, {}));
  await merge(events);
  const pages = [];
  for await (const some of everyEvent()) pages.push(some.length);
  assert.equal(pages.reduce((a, b) => a + b), 1203);
  assert.ok(Math.max(...pages) <= 500);
  const all = await allEvents();
  const keys = all.map(({ at, id }) => `${at} ${id}`);
  assert.deepEqual(keys, [...new Set(keys)].sort());
});

test("a clock that shows no possible year stores nothing, and once it is set right the same event is stored", async (context) => {
  const now = context.mock.method(clock, "now", () => Date.parse("2150-01-01T00:00:00Z"));
  const event = saved("a");
  await assert.rejects(append(event), { code: "store-clock" });
  assert.deepEqual(await allEvents(), []);
  now.mock.mockImplementation(() => Date.parse("2026-11-25T08:00:00Z"));
  const stored = await append(event);
  assert.equal(stored.at, "2026-11-25T08:00:00.000Z");
  // Whatever is stored comes back from a copy.
  assert.equal((await back(new Blob([await copyOf(await allEvents())]))).events?.length, 1);
});

test("a batch whose code begins with the workshop's own odd prefix comes back from a copy", async () => {
  await append(issued('Q"&-261125-1'));
  assert.equal((await back(new Blob([await copyOf(await allEvents())]))).events?.length, 1);
});
