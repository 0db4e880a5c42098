import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { append, beginToCount, batch, blockEvents, countClosed, eventsAbout, goOnWithout, merge, newEvent, workshopEvents, workshopLeft } from "../../../site/static/js/store/events.mjs";
import { transact } from "../../../site/static/js/store/database.mjs";
import { remembered } from "../../../site/static/js/store/kept.mjs";
import { allEvents, failAt, FAILURES, freshDatabase } from "../database_for_tests.mjs";

/** The browser's small store, which outlives the database. */
const values = new Map();
globalThis.localStorage = { getItem: (key) => values.get(key) ?? null, setItem: (key, value) => values.set(key, value) };

const saved = (name) => newEvent("saved", `mould:${name}`, { values: { name } });
const weighed = (step) =>
  newEvent("checked", "block:QM-1/1", { person: "Q", step });

beforeEach(async () => {
  values.clear();
  await freshDatabase();
});

/** As when the browser, or a hand, deletes the database and nothing else. */
const lost = freshDatabase;

test("what was kept is remembered beside the database: each event once, a copy's too", async () => {
  const event = await append(saved("a"));
  await append(event);
  assert.equal(remembered(), 1);
  await merge([event, saved("b"), saved("c")]);
  await merge([event]);
  assert.equal(remembered(), 3);
});

test("what is not stored is not remembered", async () => {
  await append(saved("a"));
  for (let nth = 1; nth < 12; nth += 1) {
    const before = remembered();
    failAt(nth, FAILURES["no room"]);
    await append(saved("b")).catch(() => {});
    failAt(0, () => {});
    assert.ok(remembered() <= (await allEvents()).length, `call ${nth}`);
    assert.ok(remembered() >= before);
  }
});

test("a database deleted in mid-block is an alarm at the next tap, and nothing is written over the loss", async () => {
  const first = await append(weighed("oil:0"), null);
  const last = await append(weighed("oil:1"), first.id);
  await lost();
  await assert.rejects(append(weighed("oil:2"), last.id), { code: "store-lost", filled: { kept: 2, here: 0 } });
  await assert.rejects(blockEvents("QM-1", 1), { code: "store-lost" });
  await assert.rejects(eventsAbout(["block:QM-1/1", "release:QM-1/1"]), { code: "store-lost" });
  assert.deepEqual(await allEvents(), []);
});

test("a database deleted between visits is no first visit", async () => {
  await append(saved("a"));
  await lost();
  await assert.rejects(workshopEvents(), { code: "store-lost" });
  await assert.rejects(batch("QM-1"), { code: "store-lost" });
});

test("a copy brings back what it holds; the alarm stands for as long as something is missing", async () => {
  const events = [saved("a"), saved("b"), saved("c")];
  await merge(events);
  await lost();
  assert.equal(await merge(events.slice(0, 2)), 2);
  await assert.rejects(workshopEvents(), { code: "store-lost", filled: { kept: 3, here: 2 } });
  // The next copy is looked at beside what is there.
  assert.equal((await workshopLeft()).length, 2);
  await merge(events);
  assert.equal((await workshopEvents()).length, 3);
});

test("whoever emptied it goes on without, and is warned of the next loss again", async () => {
  await merge([saved("a"), saved("b")]);
  await lost();
  await goOnWithout();
  assert.deepEqual(await workshopEvents(), []);
  await append(saved("c"));
  assert.equal(remembered(), 1);
  await lost();
  await assert.rejects(workshopEvents(), { code: "store-lost" });
});

test("a browser that cannot remember, or an older build that never did, is no loss", async () => {
  await append(saved("a"));
  values.clear();
  assert.equal((await workshopEvents()).length, 1);
  await beginToCount();
  assert.equal(remembered(), 1);
});

test("a note in the database that is too low, or gone, is no loss while the events are there", async () => {
  const { transact } = await import("../../../site/static/js/store/database.mjs");
  await merge([saved("a"), saved("b")]);
  await transact("readwrite", (transaction) => transaction.objectStore("drafts").delete("records:kept"));
  assert.equal((await workshopEvents()).length, 2);
});

test("how many blocks were closed is noted with each record, and counted once where no build has noted it", async () => {
  const closed = (n) => newEvent("closed", `block:QM-1/${n}`, { person: "Q", outcome: "poured", reason: "", record: null, html: "" });
  await append(closed(1));
  assert.equal(await countClosed(), 1);
  const twice = closed(2);
  await append(twice);
  await append(twice);
  await merge([closed(3), closed(4), twice, newEvent("saved", "mould:m-z", { values: { name: "Oak" } })]);
  assert.equal(await countClosed(), 4);
  // As an older build has left it, which noted how many records there are and no more.
  await transact("readwrite", async (transaction) => {
    const drafts = transaction.objectStore("drafts");
    const note = await drafts.get("records:kept");
    await drafts.put({ ...note, values: { n: note.values.n } });
  });
  assert.equal(await countClosed(), 4);
  await append(closed(5));
  assert.equal(await countClosed(), 5);
});
