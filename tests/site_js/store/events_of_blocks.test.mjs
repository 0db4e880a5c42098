import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import * as fake from "fake-indexeddb";
import { clock } from "../../../site/static/js/store/clock.mjs";
import { disconnect, StoreError } from "../../../site/static/js/store/database.mjs";
import { loadDraft } from "../../../site/static/js/store/drafts.mjs";
import {
  append, batch, blockEvents, blocksInHand, ChangedElsewhere, eventsOfBatch, IdTaken, merge, newEvent, recentBatches,
} from "../../../site/static/js/store/events.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const ASKED = { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 };
const weighed = (code, block, step = "oil:0") =>
  newEvent("weighed", `block:${code}/${block}`, {
    person: "P", step, reading: "16.34", unit: "kg", lot: null, asked: ASKED, question: null, mode: "net",
  });
const closed = (code, block) =>
  newEvent("closed", `block:${code}/${block}`, { person: "P", outcome: "poured", reason: "", record: null, html: "" });
const names = async (limit = 99) => (await blocksInHand(limit)).map(({ code, block }) => `${code}/${block}`);

test("a block's events come back in order, and only that block's", async () => {
  const first = await append(weighed("QM-1", 1), null);
  const stored = [first, await append(weighed("QM-1", 1, "oil:1"), first.id)];
  await append(weighed("QM-1", 2));
  await append(weighed("QM-1", 11));
  assert.deepEqual(await blockEvents("QM-1", 1), stored);
});

test("a batch's events are those of its blocks, not of codes that begin like it", async () => {
  for (const [code, block] of [["QM-1", 1], ["QM-1", 12], ["QM-11", 1], ["QM-", 1], ["QM-1/2", 1], ["QM-1.", 1]]) {
    await append(weighed(code, block));
  }
  // Events of two blocks in one millisecond stand in either order.
  const subjects = (await eventsOfBatch("QM-1")).map(({ subject }) => subject);
  assert.deepEqual(subjects.sort(), ["block:QM-1/1", "block:QM-1/12"]);
});

test("of two tabs that write one block the second is told, and its event is not stored", async () => {
  const first = await append(weighed("QM-1", 1), null);
  const here = weighed("QM-1", 1, "oil:1");
  const there = weighed("QM-1", 1, "oil:1");
  const outcomes = await Promise.allSettled([append(here, first.id), append(there, first.id)]);
  assert.deepEqual(outcomes.map(({ status }) => status), ["fulfilled", "rejected"]);
  assert.ok(outcomes[1].reason instanceof ChangedElsewhere);
  assert.deepEqual((await blockEvents("QM-1", 1)).map(({ id }) => id), [first.id, here.id]);
  // Two blocks in hand at once have nothing to do with each other.
  await append(weighed("QM-1", 2), null);
});

test("a double tap stores one event once, also where both taps are on their way", async () => {
  const first = await append(weighed("QM-1", 1), null);
  const event = weighed("QM-1", 1, "oil:1");
  const [once, twice] = await Promise.all([append(event, first.id), append(event, first.id)]);
  assert.deepEqual(once, twice);
  assert.equal((await blockEvents("QM-1", 1)).length, 2);
  await assert.rejects(append({ ...event, reading: "16.36" }, first.id), IdTaken);
});

test("with the clock an hour back, events still sort after those before, and keep what the clock said", async (context) => {
  const first = await append(weighed("QM-1", 1), null);
  context.mock.method(clock, "now", () => Date.parse(first.at) - 3_600_000);
  const second = weighed("QM-1", 1, "oil:1");
  await append(second, first.id);
  const events = await blockEvents("QM-1", 1);
  assert.deepEqual(events.map(({ step }) => step), ["oil:0", "oil:1"]);
  assert.equal(events[1].local, second.local);
});

test("in hand are the blocks begun and not closed, last touched first", async (context) => {
  let now = Date.UTC(2026, 10, 25, 8);
  context.mock.method(clock, "now", () => (now += 1000));
  for (const block of [1, 2, 3]) await append(weighed("QM-1", block));
  await append(weighed("QM-1", 1, "oil:1"));
  assert.deepEqual(await names(), ["QM-1/1", "QM-1/3", "QM-1/2"]);
  await append(closed("QM-1", 3));
  assert.deepEqual(await names(), ["QM-1/1", "QM-1/2"]);
  assert.deepEqual(await names(1), ["QM-1/1"]);
});

test("what comes after the closing, or before it from another phone, doesn't take a block up again", async () => {
  const early = weighed("QM-1", 1);
  await append(closed("QM-1", 1));
  await append(weighed("QM-1", 1, "oil:1"));
  await merge([early]);
  assert.deepEqual(await names(), []);
});

test("a copy taken in sets the list right, in whatever order its events stand", async () => {
  const events = [weighed("QM-1", 1), closed("QM-1", 1), weighed("QM-1", 2), weighed("QM-1", 2, "oil:1")];
  for (const order of [events, [...events].reverse()]) {
    await freshDatabase();
    assert.equal(await merge(order), 4);
    assert.deepEqual(await names(), ["QM-1/2"]);
    assert.equal(await merge([...order, closed("QM-1", 2)]), 1);
    assert.deepEqual(await names(), []);
  }
});

test("finding the blocks in hand reads no event and no finished batch", async (context) => {
  await merge(Array.from({ length: 300 }, (_, n) => [weighed(`QM-${n}`, 1), closed(`QM-${n}`, 1)]).flat());
  await append(weighed("QM-9", 2));
  const stores = context.mock.method(fake.IDBTransaction.prototype, "objectStore");
  const read = context.mock.method(fake.IDBObjectStore.prototype, "getAll");
  assert.equal((await blocksInHand(6)).length, 1);
  assert.deepEqual(stores.mock.calls.map(({ arguments: [name] }) => name), ["blocks"]);
  assert.deepEqual(read.mock.calls.map(({ result }) => result.result.length), [1]);
});

/** What is stored first, what is then done, and what is stored after it. */
const WORKS = {
  "the first weighing of a block": {
    before: () => [],
    work: ([event]) => append(event, null),
    events: () => [weighed("QM-1", 1)],
    inHand: ["QM-1/1"],
  },
  "a further weighing": {
    before: () => [weighed("QM-1", 1)],
    work: ([event], [before]) => append(event, before.id),
    events: () => [weighed("QM-1", 1, "oil:1")],
    inHand: ["QM-1/1"],
  },
  "closing a block": {
    before: () => [weighed("QM-1", 1)],
    work: ([event], [before]) => append(event, before.id),
    events: () => [closed("QM-1", 1)],
    inHand: [],
  },
  "taking in a copy with blocks": {
    before: () => [weighed("QM-1", 1)],
    work: (events) => merge(events),
    events: () => [closed("QM-1", 1), weighed("QM-1", 2)],
    inHand: ["QM-1/2"],
  },
};

for (const [workName, { before, work, events, inHand }] of Object.entries(WORKS)) {
  for (const [failureName, failure] of Object.entries(FAILURES)) {
    test(`${workName}, ${failureName} at each call in turn: there on reopening, or said`, async () => {
      for (let nth = 1; ; nth += 1) {
        await freshDatabase();
        const old = before();
        for (const event of old) await append(event);
        await disconnect();
        const added = events();
        failAt(nth, failure);
        const fault = await work(added, old).then(() => null, (error) => error);
        const { hit } = watch;
        failAt(0, failure);
        await disconnect();
        if (fault) {
          assert.ok(fault instanceof StoreError, `call ${nth}: ${fault}`);
          assert.equal((await allEvents()).length, old.length, `call ${nth}: half stored`);
          assert.deepEqual(await names(), old.length === 0 ? [] : ["QM-1/1"], `call ${nth}: list half changed`);
          await work(added, old);
        }
        const there = new Set((await allEvents()).map(({ id }) => id));
        assert.ok([...old, ...added].every(({ id }) => there.has(id)), `call ${nth}: said to be stored, but is not`);
        assert.deepEqual(await names(), inHand, `call ${nth}`);
        if (!hit) break;
      }
    });
  }
}

/** The database as version 1 of the app made it, with one record of each sort in it. */
function versionOne(records) {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open("tarewell", 1);
    opening.onerror = () => reject(opening.error);
    opening.onupgradeneeded = () => {
      const events = opening.result.createObjectStore("events", { keyPath: "id" });
      events.createIndex("kind", "kind");
      events.createIndex("subject", "subject");
      const batches = opening.result.createObjectStore("batches", { keyPath: "id" });
      batches.createIndex("code", "code");
      batches.createIndex("at", "at");
      batches.createIndex("formula", "formulaEvent");
      opening.result.createObjectStore("drafts", { keyPath: "key" });
    };
    opening.onsuccess = () => {
      const writing = opening.result.transaction(["events", "batches", "drafts"], "readwrite");
      for (const [store, record] of records) writing.objectStore(store).add(record);
      writing.oncomplete = () => resolve(opening.result);
    };
  });
}

test("a database of version 1 keeps every record and takes blocks from then on", async () => {
  globalThis.indexedDB = new fake.IDBFactory();
  const mould = newEvent("saved", "mould:m", { values: { name: "M" } });
  const issued = newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>sheet</p>" });
  const entry = { id: issued.id, code: "QM-1", at: issued.at, local: issued.local, formulaEvent: "", formulaName: "" };
  const draft = { key: "batch#", values: { blocks: "2" }, base: null, at: issued.at };
  const old = await versionOne([["events", mould], ["events", issued], ["batches", entry], ["drafts", draft]]);
  // An older tab lets go when it is asked to.
  old.onversionchange = () => old.close();
  assert.deepEqual(new Set((await allEvents()).map(({ id }) => id)), new Set([mould.id, issued.id]));
  assert.deepEqual([await batch("QM-1"), await recentBatches(9), await loadDraft("batch#")], [[issued], [entry], draft]);
  assert.deepEqual(await names(), []);
  await append(weighed("QM-1", 1), null);
  assert.deepEqual(await names(), ["QM-1/1"]);
});
