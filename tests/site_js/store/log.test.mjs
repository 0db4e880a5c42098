import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import * as fake from "fake-indexeddb";
import { logEntry } from "../../../site/static/js/rules/log.mjs";
import { disconnect, transact } from "../../../site/static/js/store/database.mjs";
import { append, blocksInHand, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allAbout, allLog, logOf, makeLog } from "../../../site/static/js/store/log.mjs";
import { named } from "../../../site/static/js/store/mode.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const issued = (code, lot = "OLV-1") =>
  newEvent("issued", `batch:${code}`, { code, html: "", blocks: 1, formula: { event: "f", name: "Plain" }, pours: [{ key: "oil:0", lot }] });
const weighed = (code, n = 1) =>
  newEvent("weighed", `block:${code}/${n}`, {
    person: "P", step: "oil:0", reading: "16.34", unit: "kg", lot: null, mode: "net", question: null,
    asked: { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 },
  });
const closed = (code) => newEvent("closed", `block:${code}/1`, { person: "P", outcome: "poured", reason: "", record: null, html: "" });
const ready = (code) => newEvent("cure_ready", `cure:${code}/1`, { person: "P", values: {} });
const byCode = (a, b) => (a.code < b.code ? -1 : 1);
const states = async () => Object.fromEntries((await allLog()).sort(byCode).map(({ code, state }) => [code, state]));

/** The entries as the fold has them, of every event that is stored. */
async function folded() {
  const events = await allEvents();
  const codes = new Set(events.filter(({ kind }) => kind === "issued").map(({ code }) => code));
  return [...codes].sort().map((code) => logEntry(events.filter(({ subject }) => subject === `batch:${code}` || subject.split(":")[1].startsWith(`${code}/`))));
}

test("an entry is written with each event that is about its batch", async () => {
  await makeLog();
  await append(issued("QM-1"));
  assert.deepEqual(await states(), { "QM-1": "issued" });
  await append(weighed("QM-1"));
  await append(issued("QM-2", "OLV-2"));
  assert.deepEqual(await states(), { "QM-1": "weighing", "QM-2": "issued" });
  await append(closed("QM-1"));
  await append(ready("QM-1"));
  assert.deepEqual(await states(), { "QM-1": "cured", "QM-2": "issued" });
  assert.deepEqual((await allLog()).sort(byCode), await folded());
});

test("what is about no batch, or about one whose sheet is not here, makes no entry", async () => {
  await makeLog();
  await append(newEvent("saved", "mould:m", { values: { name: "M" } }));
  await append(ready("QM-9"));
  assert.deepEqual(await allLog(), []);
  assert.equal(await logOf("QM-9"), null);
});

test("a lot leads to its batches, and a code to all about it", async () => {
  await makeLog();
  for (const [code, lot] of [["QM-1", "OLV-1"], ["QM-2", "OLV-2"], ["QM-3", "OLV-1"], ["QM-11", "OLV-3"]]) await append(issued(code, lot));
  await append(weighed("QM-1"));
  await append(weighed("QM-11"));
  const inLot = async (lot) => (await allLog()).filter(({ lots }) => lots.includes(lot)).map(({ code }) => code).sort();
  assert.deepEqual(await inLot("OLV-1"), ["QM-1", "QM-3"]);
  assert.deepEqual(await inLot("OLV-9"), []);
  assert.deepEqual((await allAbout("QM-1")).map(({ kind, subject }) => `${kind} ${subject}`), ["issued batch:QM-1", "weighed block:QM-1/1"]);
  assert.equal((await logOf("QM-11")).state, "weighing");
});

test("until every batch has its entry nobody is given any, and making them is told", async () => {
  assert.equal(await allLog(), null);
  await merge(Array.from({ length: 120 }, (_, n) => [issued(`QM-${n}`), weighed(`QM-${n}`)]).flat());
  assert.equal(await allLog(), null);
  // One batch's own entry never waits for the others'.
  assert.equal((await logOf("QM-7")).state, "weighing");
  const told = [];
  await makeLog((share) => told.push(share));
  assert.ok(told.length > 1 && told[0] === 0 && told.every((share, n) => share < 1 && share >= (told[n - 1] ?? 0)));
  assert.deepEqual((await allLog()).sort(byCode), await folded());
  told.length = 0;
  await makeLog((share) => told.push(share));
  assert.deepEqual(told, [], "made once");
});

test("of a copy only the batches that it tells of are made anew", async () => {
  await merge([issued("QM-1"), issued("QM-2")]);
  await makeLog();
  await merge([weighed("QM-2")]);
  assert.equal(await allLog(), null);
  const put = [];
  const real = fake.IDBObjectStore.prototype.put;
  fake.IDBObjectStore.prototype.put = function (value) {
    put.push(value.code);
    return real.call(this, value);
  };
  await makeLog();
  fake.IDBObjectStore.prototype.put = real;
  assert.deepEqual(put, ["QM-2", ""]);
  assert.deepEqual(await states(), { "QM-1": "issued", "QM-2": "weighing" });
  // A copy without a batch makes nothing wait.
  await merge([newEvent("saved", "mould:m", { values: { name: "M" } })]);
  assert.deepEqual(await states(), { "QM-1": "issued", "QM-2": "weighing" });
});

test("what comes in while entries are made is made too", async () => {
  await merge(Array.from({ length: 120 }, (_, n) => issued(`QM-${n}`)));
  let more = () => merge([issued("QM-200"), weighed("QM-3")]);
  const coming = [];
  await makeLog((share) => {
    if (share === 0) return;
    coming.push(more());
    more = () => append(issued("QM-201"));
  });
  await Promise.all(coming);
  await makeLog();
  assert.deepEqual((await allLog()).sort(byCode), (await folded()).sort(byCode));
  assert.equal((await states())["QM-3"], "weighing");
  assert.equal((await allLog()).length, 122);
});

test("entries of an older fold are made anew", async () => {
  await append(issued("QM-1"));
  await makeLog();
  await transact("readwrite", async (transaction) => {
    const log = transaction.objectStore("log");
    for (const entry of await log.getAll()) await log.put({ ...entry, fold: 0, state: "issued" in entry ? "cut" : entry.state });
  });
  assert.equal(await allLog(), null);
  await makeLog();
  assert.deepEqual(await allLog(), await folded());
});

/** The database as version 2 of the app made it, with these records in it. */
function versionTwo(name, records) {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open(name, 2);
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
      opening.result.createObjectStore("blocks", { keyPath: "subject" });
    };
    opening.onsuccess = () => {
      const writing = opening.result.transaction(["events", "batches", "blocks"], "readwrite");
      for (const [store, record] of records) writing.objectStore(store).add(record);
      writing.oncomplete = () => resolve(opening.result);
    };
  });
}

test("a database of version 2 keeps every record, and its log is made once", async () => {
  await disconnect();
  globalThis.indexedDB = new fake.IDBFactory();
  const [sheet, pour, other] = [issued("QM-1"), weighed("QM-1"), issued("QM-2")];
  const entries = [sheet, other].map(({ id, code, at, local }) => ({ id, code, at, local, formulaEvent: "f", formulaName: "Plain" }));
  const blocks = { subject: pour.subject, code: "QM-1", block: 1, at: pour.at };
  const old = await versionTwo(named(), [["events", sheet], ["events", pour], ["events", other], ...entries.map((entry) => ["batches", entry]), ["blocks", blocks]]);
  old.onversionchange = () => old.close();
  assert.deepEqual((await allEvents()).map(({ id }) => id).sort(), [sheet, pour, other].map(({ id }) => id).sort());
  assert.deepEqual(await blocksInHand(9), [blocks]);
  assert.equal(await allLog(), null);
  // An event stored before the log is made loses nothing of the others.
  await append(closed("QM-1"));
  await makeLog();
  assert.deepEqual(await states(), { "QM-1": "poured", "QM-2": "issued" });
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`weighing with ${name} at each call in turn: the log says what is stored, no more and no less`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      await makeLog();
      await append(issued("QM-1"));
      await disconnect();
      const event = weighed("QM-1");
      failAt(nth, failure);
      const fault = await append(event).then(() => null, (error) => error);
      const { hit } = watch;
      failAt(0, failure);
      await disconnect();
      assert.deepEqual(await allLog(), await folded(), `call ${nth}`);
      if (fault) await append(event);
      assert.deepEqual(await states(), { "QM-1": "weighing" }, `call ${nth}`);
      if (!hit) break;
    }
  });
}
