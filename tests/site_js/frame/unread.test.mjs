import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { disconnect, opener, patience } from "../../../site/static/js/store/database.mjs";
import { append, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import { bar, buttons, flags, text, until, values } from "../page_for_tests.mjs";

const { app, reload } = await import("../../../site/static/js/frame/app.mjs");
const { held, readAgain } = await import("../../../site/static/js/frame/unread.mjs");

const DEMO = { formula: [{ id: "f-demo", values: { name: "Demo" } }] };
const UNREAD = { demo: DEMO, state: {}, heads: new Map(), filled: false, own: false, records: "unread" };
const mould = () => newEvent("saved", "mould:m-a", { values: { name: "Oak" } });

beforeEach(async () => {
  values.clear();
  flags.clear();
  Object.assign(app, UNREAD);
  await freshDatabase();
});

const realOpen = opener.open;

/** Makes every opening of the database take so long. @param {number} delay [ms] */
function late(delay) {
  opener.open = async (...given) => {
    await new Promise((resolve) => setTimeout(resolve, delay));
    return realOpen(...given);
  };
  patience.open = patience.step = 40;
}

function onTime() {
  opener.open = realOpen;
  patience.open = patience.step = 2000;
}

test("a store that answers late is waited for: nothing stands in for it, and in the end it is read", async () => {
  await append(mould());
  await disconnect();
  late(150);
  const reading = reload();
  await until(() => !bar.hidden);
  assert.equal(text.textContent, "unread-store-slow");
  assert.deepEqual(app.state, {}, "the demo stands in for the workshop");
  assert.ok(flags.has("data-unread"));
  assert.deepEqual([buttons.again.hidden, buttons.without.hidden], [false, true]);
  // Each try, by the button or by itself, gives it more time. So a store that never gets quicker is read too.
  const pressing = setInterval(readAgain, 100);
  await reading;
  clearInterval(pressing);
  onTime();
  assert.equal(app.records, "read");
  assert.equal(app.state.mould[0].values.name, "Oak");
  assert.ok(bar.hidden);
  assert.ok(!flags.has("data-unread"));
});

test("a store that a newer build has written is said to be newer, and not replaced", async () => {
  await append(mould());
  await disconnect();
  const newer = await realOpen("tarewell", 9);
  newer.close();
  const reading = reload();
  await until(() => !bar.hidden);
  assert.equal(text.textContent, "unread-store-ahead");
  assert.deepEqual(app.state, {});
  // This ends the waiting: the store is gone, and its events had never been counted here.
  values.clear();
  await freshDatabase();
  readAgain();
  await reading;
});

test("a workshop that has never stored anything starts with the demo", async () => {
  await reload();
  assert.equal(app.records, "read");
  assert.equal(app.state.formula[0].id, "f-demo");
  assert.ok(bar.hidden);
});

test("where the browser keeps no records the demo stands for itself, plainly marked", async () => {
  opener.open = async () => {
    throw new DOMException("private", "SecurityError");
  };
  await reload();
  onTime();
  assert.equal(app.records, "none");
  assert.equal(app.state.formula[0].id, "f-demo");
  assert.equal(text.textContent, "unread-no-store");
  assert.equal(bar.hidden, false);
  await reload();
  assert.equal(app.records, "read");
  assert.ok(bar.hidden);
});

test("where records have been kept, a browser that refuses them gets no demo", async () => {
  await append(mould());
  await disconnect();
  opener.open = async () => {
    throw new DOMException("refused", "SecurityError");
  };
  const reading = reload();
  await until(() => !bar.hidden);
  assert.equal(text.textContent, "unread-store-failed");
  assert.deepEqual(app.state, {});
  onTime();
  readAgain();
  await reading;
  assert.equal(app.state.mould[0].values.name, "Oak");
});

test("a page that has read its workshop keeps it while the store is gone, and what it holds of a block goes back", async () => {
  await append(mould());
  await reload();
  const sheet = newEvent("issued", "batch:QM-1", { code: "QM-1", html: "<p>1</p>" });
  const step = newEvent("checked", "block:QM-1/1", { person: "Q", step: "start" });
  await merge([sheet, step]);
  held.add(() => [sheet, step]);
  await freshDatabase();
  const reading = reload();
  await until(() => !bar.hidden);
  assert.equal(text.textContent, "unread-store-lost");
  assert.equal(app.state.mould[0].values.name, "Oak");
  assert.ok(!flags.has("data-unread"));
  let there = [];
  for (let waited = 0; there.length < 2 && waited < 100; waited += 1) there = await allEvents();
  assert.deepEqual(new Set(there.map(({ id }) => id)), new Set([sheet.id, step.id]));
  held.clear();
  values.clear();
  readAgain();
  await reading;
});
