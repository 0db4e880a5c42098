import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { allApart } from "../../../site/static/js/store/apart.mjs";
import { readCopy, writeCopy } from "../../../site/static/js/store/backup.mjs";
import { transact } from "../../../site/static/js/store/database.mjs";
import { append, CodeTaken, everyEvent, IdTaken, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allLog, makeLog } from "../../../site/static/js/store/log.mjs";
import * as shop from "../../../site/static/js/store/shop.mjs";
import { rowsOf } from "../../../site/static/js/records/spreadsheet.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

const PHONE = { seed: "SUASECRETSEED", device: "abcdefgh23", shop: "aaaaaaaa", name: "tarewell.local", called: "Phone of Q" };
const CURSOR = { created: "2026-11-30T08:00:00Z", seq: 7, unread: 0, from: null, build: "" };
const APART = (cursor = CURSOR) => [() => {}, { apart: true, shop: cursor }];

const saved = (name, more = {}) => newEvent("saved", `mould:${name}`, { values: { name }, ...more });
const issued = (code) => newEvent("issued", `batch:${code}`, { code, html: "<p>1</p>" });
const waiting = async () => (await shop.readStanding()).waiting;
const toGoOut = async (but = new Set(), which = {}) => (await shop.outgoing(99, but, which)).map(({ id }) => id).sort();
const ids = (...events) => events.map(({ id }) => id).sort();

beforeEach(freshDatabase);

test("where this phone isn't paired, an event says no phone and nothing waits", async () => {
  const event = await append(saved("a"));
  await merge([saved("b")]);
  await shop.markAll();
  assert.deepEqual([Object.hasOwn(event, "device"), await waiting(), await shop.readPhone()], [false, 0, null]);
});

test("a paired phone is named on each event that is stored on it, whatever its kind, and each is to go out", async () => {
  await shop.storePhone(PHONE);
  const block = newEvent("checked", "block:QM-1/1", { person: "Q", step: "check:zero" });
  const stored = [await append(saved("a"), null, [saved("b")]), await append(issued("QM-1")), await append(block)];
  assert.ok((await allEvents()).every(({ device }) => device === PHONE.device));
  assert.deepEqual(stored.map(({ device }) => device), Array(3).fill(PHONE.device));
  assert.deepEqual(await toGoOut(), ids(...(await allEvents())));
  assert.equal(await waiting(), 4);
  await assert.rejects(append(issued("QM-1")), CodeTaken);
  assert.equal(await waiting(), 4);
});

test("the same event again, from before the phone was paired or since, is the one that is stored", async () => {
  const before = saved("a");
  await append(before);
  await shop.storePhone(PHONE);
  assert.ok(!Object.hasOwn(await append(before), "device"));
  const since = saved("b");
  await append(since);
  assert.equal((await append(since)).device, PHONE.device);
  await assert.rejects(append({ ...since, values: { name: "c" } }), IdTaken);
  assert.equal(await waiting(), 1);
});

test("what was there before the phone was paired is to go out behind what is recorded now, marked once", async () => {
  const old = [await append(saved("a")), await append(saved("b"))];
  await shop.storePhone(PHONE);
  const now = await append(saved("c"));
  await shop.markAll();
  await shop.markAll();
  assert.deepEqual(await toGoOut(), ids(...old, now));
  assert.deepEqual(await toGoOut(new Set(), { now: true }), [now.id]);
  assert.deepEqual((await shop.outgoing(1, new Set())).map(({ id }) => id), [now.id]);
  assert.deepEqual(await toGoOut(new Set([now.id])), ids(...old));
  await shop.noteSent([old[0].id, now.id]);
  assert.deepEqual(await toGoOut(), [old[1].id]);
  await shop.markAll();
  assert.equal(await waiting(), 1);
});

test("what came by a copy is to go out, what came from the server is not", async () => {
  await shop.storePhone(PHONE);
  const [copied, sent] = [saved("a"), saved("b", { device: "zyxwvuts23" })];
  await merge([copied]);
  await merge([sent, copied], ...APART());
  assert.deepEqual(await waiting(), 0, "of what was copied the server has told");
  await merge([saved("c")]);
  assert.equal(await waiting(), 1);
  assert.deepEqual(await shop.readCursor(), CURSOR);
});

test("this phone's own event come back is there; the same number with other words is set apart, and its own still to go out", async () => {
  await shop.storePhone(PHONE);
  const [one, two] = [await append(saved("a")), await append(saved("b"))];
  await merge([one, { ...two, values: { name: "forged" } }], ...APART());
  assert.deepEqual(await toGoOut(), [two.id]);
  assert.deepEqual([(await allApart()).length, (await shop.readStanding()).apart], [1, 1]);
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`${name} at each call in turn: an event and its mark are stored together or not at all`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      await shop.storePhone(PHONE);
      failAt(nth, failure);
      const done = await append(saved("a")).then(() => true, () => false);
      const { hit } = watch;
      failAt(0, failure);
      assert.deepEqual([(await allEvents()).length, await waiting()], done ? [1, 1] : [0, 0], `call ${nth}`);
      if (!hit) break;
    }
  });

  test(`${name} at each call in turn: what came from the server and the place in its stream are stored together or not at all`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      await shop.storePhone(PHONE);
      const mine = await append(saved("a"));
      failAt(nth, failure);
      const done = await merge([mine, saved("b"), issued("QM-1")], ...APART()).then(() => true, () => false);
      const { hit } = watch;
      failAt(0, failure);
      const found = [(await allEvents()).length, await waiting(), (await shop.readCursor()).seq];
      assert.deepEqual(found, done ? [3, 0, CURSOR.seq] : [1, 1, 0], `call ${nth}`);
      if (!hit) break;
    }
  });
}

test("marking that is cut goes on where it was, and a server with another stream has all marked anew", async () => {
  await merge(Array.from({ length: 2500 }, (_, n) => saved(`m-${n}`)));
  await shop.storePhone(PHONE);
  failAt(1200, FAILURES["no room"]);
  await assert.rejects(shop.markAll());
  failAt(0, () => {});
  const before = await waiting();
  assert.ok(before < 2500);
  await shop.markAll();
  assert.equal(await waiting(), 2500);
  await shop.noteSent((await shop.outgoing(2000, new Set())).map(({ id }) => id));
  assert.equal(await waiting(), 500);
  await shop.beginAnew("2026-12-01T00:00:00Z");
  await shop.markAll();
  assert.deepEqual([await waiting(), await shop.readCursor()], [2500, { ...CURSOR, created: "2026-12-01T00:00:00Z", seq: 0 }]);
});

test("a record that is gone from the store holds up none of the others", async () => {
  await shop.storePhone(PHONE);
  const [gone, left] = [await append(saved("a")), await append(saved("b"))];
  await transact("readwrite", (transaction) => transaction.objectStore("events").delete(gone.id));
  assert.deepEqual([await toGoOut(), await waiting()], [[left.id], 1]);
});

test("a few events from the server are in the log as soon as they are stored, and of many it is made later", async () => {
  await shop.storePhone(PHONE);
  await makeLog();
  await merge([issued("QM-1")], ...APART());
  assert.deepEqual((await allLog())?.map(({ code }) => code), ["QM-1"]);
  await merge(Array.from({ length: 40 }, (_, n) => issued(`QN-${n}`)), ...APART());
  assert.equal(await allLog(), null);
  await makeLog();
  assert.equal((await allLog())?.length, 41);
});

test("the phone's secret key, and the secret it was paired by, go into no copy and no table", async () => {
  await shop.storeJoining("SECRETOFPAIRING", PHONE.seed);
  assert.equal(await shop.readJoining("SECRETOFPAIRING"), PHONE.seed);
  assert.equal(await shop.readJoining("another"), null);
  await append(saved("a"));
  const joining = await (await writeCopy(everyEvent())).text();
  await shop.storePhone(PHONE);
  assert.equal(await shop.readJoining("SECRETOFPAIRING"), null);
  await append(saved("b"));
  const copy = await writeCopy(everyEvent());
  const tables = JSON.stringify((await allEvents()).map(rowsOf));
  for (const text of [joining, await copy.text(), tables]) assert.ok(!/SECRET/.test(text));
  assert.ok("events" in (await readCopy(copy)));
});

test("who leaves takes nothing along but the records", async () => {
  await shop.storePhone(PHONE);
  await append(saved("a"));
  await merge([saved("b")], ...APART());
  await shop.dropPhone();
  assert.deepEqual(await transact("readonly", (transaction) => transaction.objectStore("drafts").getAllKeys()), ["records:kept"]);
  assert.equal((await allEvents()).length, 2);
});
