import assert from "node:assert/strict";
import { after, afterEach, before, test } from "node:test";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { askToJoin, connect, Denied } from "../../../site/static/js/shop/link.mjs";
import { newSeed, RealEngine, SHOP } from "../engine_for_tests.mjs";
import { aShop, until } from "../shops_for_tests.mjs";

const PHONES = [1, 2].map((n) => ({ device: `device${n + 1}aaa`, seed: newSeed(), shop: SHOP, name: "tarewell.local", called: `Phone ${n}` }));
const saved = (n, more = {}) => ({ id: `e-${n}`, at: "2026-11-30T08:00:00.000Z", local: "2026-11-30T08:00:00+00:00", kind: "saved", subject: `mould:m-${n}`, values: { name: "M", ...more } });

/** @type {RealEngine} */
let engine;
before(async () => (engine = await RealEngine.start(PHONES)));
after(() => engine.end());

const links = [];
afterEach(() => Promise.all(links.splice(0).map((link) => link.close())));
const linked = async (n) => {
  const link = await connect(PHONES[n], engine.address);
  links.push(link);
  return link;
};

/** All that the server has behind one message. */
async function allFrom(link, after) {
  const all = [];
  for (let at = after, more = true; more; ) {
    const part = await link.read(at);
    assert.ok(part.messages.length <= 400);
    all.push(...part.messages);
    more = part.more;
    at = all.at(-1)?.seq;
  }
  return all;
}

test("a record that is sent is read on the other phone as it was, once, and is told of; what is larger is not sent at all", async () => {
  const [mine, theirs] = [await linked(0), await linked(1)];
  const { last } = await mine.info();
  let told = 0;
  theirs.hear("new", () => (told += 1));
  const event = saved("1", { note: "é ☃ \u0000" });
  assert.deepEqual([await mine.send(event), await mine.send(event)], ["stored", "stored"]);
  const { messages, more } = await theirs.read(last);
  assert.deepEqual([messages.map(({ seq, event: read }) => [seq, canonical(read)]), more], [[[last + 1, canonical(event)]], false]);
  await until(() => told === 1, "told of it");
  // The limit is on the message with its headers: the connection would be cut.
  assert.equal(await mine.send(saved("2", { note: "x".repeat(65_400) })), "large");
  assert.equal(await mine.send(saved("3", { note: "x".repeat(64_000) })), "stored");
  assert.deepEqual(await theirs.read(99), { messages: [], more: false });
});

test("one number with other words is another record for the server: neither takes the other's place", async () => {
  const [mine, theirs] = [await linked(0), await linked(1)];
  const { last } = await mine.info();
  assert.equal(await theirs.send({ ...saved("4"), values: { name: "forged" } }), "stored");
  assert.equal(await mine.send(saved("4")), "stored");
  assert.deepEqual((await mine.read(last)).messages.map(({ event }) => event.values.name), ["forged", "M"]);
});

test("many records are read in parts, in their order, each once", async () => {
  const mine = await linked(0);
  const { last } = await mine.info();
  const events = Array.from({ length: 1000 }, (_, n) => saved(`many-${n}`));
  for (let n = 0; n < events.length; n += 64) await Promise.all(events.slice(n, n + 64).map((event) => mine.send(event)));
  const read = await allFrom(mine, last);
  assert.deepEqual(read.map(({ seq }) => seq), events.map((_, n) => last + 1 + n));
  assert.deepEqual(new Set(read.map(({ event }) => event.id)), new Set(events.map(({ id }) => id)));
});

test("a phone whose key is not known is not let in", async () => {
  await assert.rejects(connect({ ...PHONES[0], seed: newSeed() }, engine.address), Denied);
});

test("who comes with the secret waits until the answer comes; without it, or too late, it is over", async () => {
  engine.secret = "ABCDEFGH";
  engine.reload();
  const service = await engine.service();
  const asked = [];
  service.subscribe(`tarewell.${SHOP}.join`, {
    callback: (_, message) => {
      asked.push(message.json());
      setTimeout(() => message.respond(JSON.stringify(asked.length === 1 ? { device: "newphone22", shop: SHOP, name: "Phone of J" } : { refused: "refused" })), 100);
    },
  });
  const asking = { shop: SHOP, secret: "ABCDEFGH", seed: newSeed(), called: "Phone of J" };
  const stages = [];
  // The new user may be in force a moment later.
  let answer = { refused: "expired" };
  await until(async () => (answer = await askToJoin(asking, (stage) => stages.push(stage), engine.address)).refused !== "expired", "let in");
  assert.deepEqual(answer, { device: "newphone22", name: "Phone of J" });
  assert.deepEqual([asked[0].name, /^U[A-Z2-7]{55}$/.test(asked[0].key), stages.at(-1)], ["Phone of J", true, "waiting"]);
  assert.ok(!JSON.stringify(asked).includes(asking.seed));
  assert.deepEqual(await askToJoin(asking, () => {}, engine.address), { refused: "refused" });
  await service.close();
  assert.deepEqual(await askToJoin({ ...asking, secret: "another" }, () => {}, engine.address), { refused: "expired" });
});

test("two phones with their stores over a real server: together, killed, wiped, thrown out", async (t) => {
  const { phones } = await aShop(() => 0.5, "real", { of: [1, 2] });
  // Also where the test fails: a phone looks for its server for ever.
  t.after(() => Promise.all(phones.map((phone) => phone.leave())));
  const [mine, theirs] = phones;
  for (const [n, phone] of phones.entries()) {
    phone.server = { shop: SHOP, connect: (paired) => phone.app.connect(paired, engine.address) };
    phone.device = PHONES[n].device;
    await phone.at((app) => app.storePhone(PHONES[n]));
    phone.enter();
  }
  const record = (phone, name) => phone.at(async (app) => {
    const event = await app.append(app.newEvent("saved", `mould:${name}`, { values: { name } }));
    phone.engine.stored();
    return event;
  });
  const both = (id) => until(async () => (await Promise.all(phones.map((phone) => phone.at((app) => app.allIds())))).every((ids) => ids.has(id)), `${id} on both`);
  const none = () => until(async () => (await Promise.all(phones.map((phone) => phone.standing()))).every(({ waiting }) => waiting === 0), "nothing waits");
  await both((await record(mine, "a")).id);
  await both((await record(theirs, "b")).id);

  await engine.kill();
  const apart = await record(mine, "c");
  await until(() => mine.stands === "unreachable", "unreachable");
  await engine.up();
  await both(apart.id);

  await engine.kill();
  engine.lose();
  await engine.up();
  await engine.makeStream();
  await until(() => phones.some(({ told }) => told.some(({ state }) => state === "wiped")), "told that it was wiped");
  await none();
  const link = await linked(0);
  await until(async () => {
    const there = new Set((await allFrom(link, 0)).map(({ event }) => event.id));
    return (await mine.stored()).every(({ id }) => there.has(id));
  }, "all came back");

  engine.phones = [PHONES[0]];
  engine.reload();
  await until(() => theirs.stands === "revoked", "thrown out");
  const last = await record(mine, "d");
  await until(async () => (await mine.standing()).waiting === 0, "the other goes on");
  assert.ok(!(await theirs.at((app) => app.allIds())).has(last.id));
  assert.ok((await theirs.stored()).length >= 3);
  for (const phone of phones) {
    await phone.leave();
    await phone.restart();
  }
});
