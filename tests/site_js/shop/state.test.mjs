import { values } from "../page_for_tests.mjs";
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { onWord, say } from "../../../site/static/js/shop/channel.mjs";
import { join } from "../../../site/static/js/shop/join.mjs";
import { keepTold, lastTold, leaveShop, shopState, watchShop } from "../../../site/static/js/shop/state.mjs";
import { append, newEvent } from "../../../site/static/js/store/events.mjs";
import { readPhone, storePhone } from "../../../site/static/js/store/shop.mjs";
import { freshDatabase } from "../database_for_tests.mjs";
import { until } from "../page_for_tests.mjs";

const PHONE = { seed: "SUASECRETSEED", device: "abcdefgh23", shop: "aaaaaaaa", name: "tarewell.local", called: "Phone of Q" };
const HEARD = "2026-12-01T08:00:00.000Z";

beforeEach(async () => {
  values.clear();
  await freshDatabase();
});

test("a phone that isn't paired is off, with nothing that waits", async () => {
  await append(newEvent("saved", "mould:a", { values: {} }));
  const { paired, state, waiting, device, heard } = await shopState();
  assert.deepEqual([paired, state, waiting, device, heard], [false, "off", 0, "", null]);
});

test("a paired phone says whose it is, how it stands and what waits; its secret is told to no page", async () => {
  await storePhone(PHONE);
  await append(newEvent("saved", "mould:a", { values: {} }));
  say({ told: { state: "full", heard: HEARD, large: 1 } });
  const state = await shopState();
  assert.deepEqual(state, {
    paired: true, shop: "aaaaaaaa", name: "tarewell.local", device: "abcdefgh23", phone: "Phone of Q", state: "full", heard: HEARD,
    waiting: 1, large: 1, apart: 0, unread: 0,
  });
  assert.ok(!JSON.stringify(state).includes("SECRET"));
});

test("who watches is told at once and at each change, together where many come, and no more once that is ended", async () => {
  await storePhone(PHONE);
  const told = [];
  let asked = 0;
  const heard = onWord(({ who }) => (asked += who ? 1 : 0));
  const end = watchShop(({ state }) => told.push(state));
  await until(() => told.length === 1);
  for (const state of ["unreachable", "full", "together"]) say({ told: { state, heard: HEARD, large: 0 } });
  await until(() => told.length === 2);
  assert.deepEqual([told[1], asked], ["together", 1]);
  end();
  say({ told: { state: "revoked", heard: HEARD, large: 0 } });
  await new Promise((resolve) => setTimeout(resolve, 300));
  assert.equal(told.length, 2);
  heard();
});

test("how it stood is kept for the next page, and goes when this phone leaves", async () => {
  await storePhone(PHONE);
  keepTold({ state: "unreachable", heard: HEARD, large: 0 });
  assert.deepEqual(lastTold(), { state: "unreachable", heard: HEARD, large: 0 });
  const words = [];
  const end = onWord((word) => words.push(word));
  await leaveShop();
  assert.deepEqual([lastTold().heard, await readPhone(), words], [null, null, [{ changed: true }]]);
  assert.equal((await shopState()).state, "off");
  end();
});

test("in practice no phone joins a shop", async () => {
  await assert.rejects(join("SECRET", "Phone of Q"), { key: "practice" });
  assert.equal(await readPhone(), null);
});
