import assert from "node:assert/strict";
import { afterEach, test } from "node:test";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { aShop, deviceOf, run, until } from "../shops_for_tests.mjs";

const SEEDS = 60;

test(`three phones and a server, ${SEEDS} seeds: in the end each phone has the same records, screens and copy, and no event is lost or changed`, async () => {
  const told = await run(1, SEEDS);
  // Each thing that can go wrong has gone wrong often enough to mean something.
  const least = { recorded: 1000, copies: 15, crashed: 10, lost: 10, revoked: 5, full: 20, cut: 100, again: 500, forged: 15, seconds: 10 };
  for (const [what, n] of Object.entries(least)) assert.ok(told[what] >= n, `${what}: ${told[what]}`);
});

/** Two phones that are paired, in range of a server that never fails. */
async function two(ids) {
  let n = 0;
  const { server, phones: [mine, theirs] } = await aShop(() => 0.5, ids, { of: [1, 2] });
  open.push(mine, theirs);
  for (const phone of [mine, theirs]) await phone.pair(deviceOf((n += 1)));
  return { server, mine, theirs };
}

/** @type {any[]} */
const open = [];
afterEach(async () => {
  for (const phone of open.splice(0)) {
    await phone.leave();
    await phone.restart();
  }
});

const saved = (phone, name, more = {}) => phone.at(async (app) => {
  const event = await app.append(app.newEvent("saved", `mould:${name}`, { values: { name, ...more } }));
  phone.engine?.stored();
  return event;
});
const has = (phone, id) => async () => (await phone.at((app) => app.allIds())).has(id);
const together = (...phones) => until(async () => (await Promise.all(phones.map((phone) => phone.isTogether()))).every(Boolean), "together");

test("what is recorded on one phone is on the other, with the phone that it was recorded on", async () => {
  const { mine, theirs } = await two("a");
  mine.enter();
  theirs.enter();
  const event = await saved(mine, "a");
  await until(has(theirs, event.id), "there");
  assert.deepEqual((await theirs.stored()).map((each) => canonical(each)), [canonical(event)]);
  assert.equal(event.device, mine.device);
  await together(mine, theirs);
  assert.deepEqual([mine.stands, theirs.stands], ["together", "together"]);
  assert.deepEqual(await mine.standing(), { waiting: 0, apart: 0, unread: 0 });
});

test("what is recorded out of range waits, is counted, outlives the page, and goes out once", async () => {
  const { server, mine } = await two("b");
  server.up = false;
  mine.enter();
  for (const name of ["a", "b", "c"]) await saved(mine, name);
  await until(() => mine.stands === "unreachable", "unreachable");
  assert.equal((await mine.standing()).waiting, 3);
  await mine.leave();
  await mine.restart();
  assert.equal((await mine.standing()).waiting, 3);
  server.up = true;
  mine.enter();
  await together(mine);
  assert.deepEqual([server.messages.length, (await mine.standing()).waiting], [3, 0]);
});

test("a phone that others' records came to by a copy sends those too, and no record that the server has", async () => {
  const { server, mine, theirs } = await two("c");
  const event = await saved(mine, "a");
  await theirs.at((app) => app.merge([event]));
  assert.equal((await theirs.standing()).waiting, 1);
  theirs.enter();
  await together(theirs);
  assert.deepEqual(server.messages.map(({ device, text }) => [device, text]), [[theirs.device, canonical(event)]]);
  mine.enter();
  await together(mine);
  // It read first what the server has; of its own record, that it is there.
  assert.equal(server.messages.length, 1);
});

test("a server that has lost everything is given everything again, and says so until it is", async () => {
  const { server, mine, theirs } = await two("d");
  mine.enter();
  theirs.enter();
  const events = [await saved(mine, "a"), await saved(theirs, "b")];
  await together(mine, theirs);
  await theirs.leave();
  server.lose();
  await until(() => server.messages.length === 2, "both came back from one phone");
  await together(mine);
  assert.ok(mine.told.some(({ state }) => state === "wiped"));
  assert.equal(mine.stands, "together");
  theirs.enter();
  await together(theirs);
  assert.deepEqual(new Set(server.messages.map(({ text }) => text)), new Set(events.map((event) => canonical(event))));
});

test("a server that has lost the end of its stream is read from its beginning", async () => {
  const { server, mine, theirs } = await two("e");
  mine.enter();
  await saved(mine, "a");
  await saved(mine, "b");
  await together(mine);
  const { created } = server;
  server.lose();
  server.created = created;
  const other = await saved(theirs, "c");
  theirs.enter();
  await until(has(mine, other.id), "read from the first");
  await together(mine, theirs);
  assert.equal((await theirs.stored()).length, 3);
});

test("a phone that is thrown out says so, keeps its records, and asks no more than now and then", async () => {
  const { server, mine } = await two("f");
  mine.enter();
  await saved(mine, "a");
  await together(mine);
  server.revoked.add(mine.device);
  server.cut();
  await until(() => mine.stands === "revoked", "revoked");
  await saved(mine, "b");
  assert.deepEqual([(await mine.stored()).length, (await mine.standing()).waiting, server.messages.length], [2, 1, 1]);
});

test("where another shop's server answers, that is said, and nothing goes there", async () => {
  const { server, mine } = await two("g");
  await saved(mine, "a");
  server.shop = "bbbbbbbb";
  server.revoked.add(mine.device);
  mine.enter();
  await until(() => mine.stands === "other_shop", "another shop");
  assert.deepEqual([server.messages.length, (await mine.standing()).waiting], [0, 1]);
});

test("a server without room for more of this phone is said to be full; what others did comes in all the same, and all goes out later", async () => {
  const { server, mine, theirs } = await two("h");
  server.most = 1;
  mine.enter();
  for (const name of ["a", "b"]) await saved(mine, name);
  await until(() => mine.stands === "full", "full");
  theirs.enter();
  const event = await saved(theirs, "c");
  await until(has(mine, event.id), "it comes in");
  assert.ok((await mine.standing()).waiting >= 1);
  server.most = Infinity;
  await together(mine, theirs);
  assert.equal(mine.stands, "together");
});

test("a record that is too large stays and is told of; the others go", async () => {
  const { server, mine } = await two("i");
  server.large = 2000;
  const large = await saved(mine, "a", { note: "x".repeat(3000) });
  const small = await saved(mine, "b");
  mine.enter();
  await until(async () => (await mine.standing()).waiting === 1 && mine.stands === "too_large", "too large");
  assert.equal(mine.told.at(-1).large, 1);
  assert.deepEqual(server.messages.map(({ text }) => JSON.parse(text).id), [small.id]);
  server.large = Infinity;
  server.cut();
  await together(mine);
  assert.ok(server.messages.some(({ text }) => JSON.parse(text).id === large.id));
});

test("what is no record is counted and stops nobody; the next build, which may read it, asks for it again", async () => {
  const { server, mine, theirs } = await two("j");
  const event = await saved(theirs, "a");
  const newer = { ...event, id: "of-a-later-build", kind: "not_yet_known" };
  for (const text of ["no json", canonical(newer), '{"id":"<b>"}']) server.put("evilphonea", text);
  theirs.enter();
  mine.enter();
  await until(has(mine, event.id), "the others come in");
  await together(mine, theirs);
  assert.deepEqual(await mine.standing(), { waiting: 0, apart: 0, unread: 3 });
  // Opened anew, the same build does not ask for them again.
  await mine.leave();
  mine.enter();
  await together(mine);
  assert.equal((await mine.standing()).unread, 3);
  await mine.leave();
  // As the next build would read it.
  server.messages[1].text = canonical({ ...newer, kind: "removed", subject: "mould:a", values: undefined });
  mine.build = "b2";
  mine.enter();
  await until(has(mine, newer.id), "read by the next build");
  assert.equal((await mine.standing()).unread, 2);
});

test("a record that fits and breaks what is made of it is left out alone", async () => {
  const { server, mine, theirs } = await two("k");
  theirs.enter();
  const event = await saved(theirs, "a");
  await together(theirs);
  // As where something is made of an event that its shape does not tell of.
  const { store } = mine.app;
  const { take } = store;
  store.take = (events, cursor) => (events.some(({ id }) => id === "bad") ? Promise.reject(new mine.app.StoreError("store-failed", new TypeError("no batch"))) : take(events, cursor));
  server.put("evilphonea", canonical({ ...event, id: "bad" }));
  const last = await saved(theirs, "b");
  mine.enter();
  await until(has(mine, last.id), "the others come in");
  store.take = take;
  assert.deepEqual([(await mine.stored()).length, (await mine.standing()).unread], [2, 1]);
});

test("other content under a number that is taken is set apart, told of, and replaces nothing; this phone's own still goes out", async () => {
  const { server, mine } = await two("l");
  const event = await saved(mine, "a");
  server.put("evilphonea", canonical({ ...event, values: { name: "forged" } }));
  mine.enter();
  await until(async () => (await mine.standing()).waiting === 0, "it goes out");
  await together(mine);
  assert.deepEqual((await mine.stored()).map((each) => each.values.name), ["a"]);
  assert.equal((await mine.standing()).apart, 1);
  assert.ok(server.messages.some(({ text }) => text === canonical(event)));
});

test("who leaves the shop keeps the records; the key, the marks and the place in the stream are gone", async () => {
  const { mine } = await two("m");
  mine.enter();
  await saved(mine, "a");
  await together(mine);
  await mine.leave();
  await mine.at((app) => app.dropPhone());
  assert.deepEqual([(await mine.stored()).length, await mine.at((app) => app.readPhone())], [1, null]);
  const event = await saved(mine, "b");
  assert.ok(!("device" in event));
  assert.deepEqual(await mine.standing(), { waiting: 0, apart: 0, unread: 0 });
  assert.deepEqual(await mine.at((app) => app.transact("readonly", (transaction) => transaction.objectStore("drafts").getAllKeys())), ["records:kept"]);
});
