/** What pages about tanks tell Python beside the workshop, out of a store with records. */
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { append, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { freshDatabase } from "../database_for_tests.mjs";
import "../page_for_tests.mjs";

const { app } = await import("../../../site/static/js/frame/app.mjs");
const { readTanks } = await import("../../../site/static/js/tanks/told.mjs");

const PARTS = [{ name: "Lye", grams: 1000, alkali: "naoh", hydroxide_fraction: 0.33 }];
const DEMO = { contents: [{ id: "demo-t0", kind: "tank_loaded", subject: "contents:t-lye", days_ago: 1, person: "Q", as_lot: "LYE-1", parts: PARTS }] };
const issued = (minute, code, more = {}) => ({ ...newEvent("issued", `batch:${code}`, { code, html: "<p>1</p>", blocks: 2, steps: [], pours: [], formula: { id: "f", name: "Marsh", revision: 1, event: "e" }, ...more }), at: `2026-12-01T08:0${minute}:00.000Z` });

beforeEach(async () => {
  Object.assign(app, { demo: { ...DEMO }, state: { contents: DEMO.contents } });
  await freshDatabase();
});

test("read again, the tanks' entries are there once", async () => {
  await append(newEvent("tank_loaded", "contents:t-lye", { person: "Q", parts: PARTS }));
  await readTanks();
  const first = app.state.contents.map(({ id }) => id);
  assert.equal(first.length, 2);
  await readTanks();
  await readTanks();
  assert.deepEqual(app.state.contents.map(({ id }) => id), first);
});

test("of a replaced sheet that nobody began nothing is to be made; one that was begun goes on", async () => {
  await merge([issued(1, "QM-1"), issued(2, "QM-2"), issued(3, "QM-3", { replaces: "QM-1" }), issued(4, "QM-4", { replaces: "QM-2" })]);
  await append(newEvent("checked", "block:QM-2/1", { person: "Q", step: "gear" }));
  await readTanks();
  assert.deepEqual(app.state.sheets.map(({ code }) => code).sort(), ["QM-2", "QM-3", "QM-4"]);
});

const weighed = (n, code, fields) => ({ ...newEvent("weighed", `block:${code}/1`, { person: "Q", step: "lye:naoh", reading: "1.00", unit: "kg", lot: "LYE-1", mode: "net", asked: { target: 100, low: 99, high: 101, decimals: 2, unit: "kg", division: 1 }, question: null, ...fields }), at: `2026-12-02T08:${String(n).padStart(2, "0")}:00.000Z` });

test("of a tank that many batches drew from every draw is told, and of old ones no whole sheet is read but where one is needed", async () => {
  const many = Array.from({ length: 30 }, (_, n) => `QM-${n + 1}`);
  const blend = { step: "oil:blend", lot: null };
  await merge([
    issued(0, "GROSS", { vessel: { name: "Pot", tare_g: 11_400, capacity_ml: 80_000 } }), weighed(1, "GROSS", { mode: "gross" }),
    issued(0, "REED", { formula: { id: "f-reed", name: "Reed", revision: 1, event: "e" } }), weighed(2, "REED", blend), issued(0, "MARSH"), weighed(3, "MARSH", blend),
    ...many.flatMap((code, n) => [issued(0, code), weighed(10 + n, code)]),
    // Issued later than all that drew: the newest, whose sheets are read for what they still want.
    ...Array.from({ length: 12 }, (_, n) => issued(5, `NEW-${n}`)),
  ]);
  app.demo.contents = [...DEMO.contents, { id: "demo-t1", kind: "tank_loaded", subject: "contents:t-oil", days_ago: 1, person: "Q", formulas: ["f-reed"], parts: [{ name: "Olive oil", grams: 1000 }] }];
  await readTanks();
  assert.equal(app.state.contents.filter(({ kind }) => kind === "weighed").length, 33);
  const old = app.state.sheets.filter(({ code }) => !code.startsWith("NEW"));
  // The empty vessel of a display that was never tared; the formula of every blend; the newest that drew of each.
  assert.deepEqual(Object.fromEntries(old.map(({ code, tare_g, formula }) => [code, [tare_g, formula]])), {
    GROSS: [11_400, "f"], REED: [null, "f-reed"], MARSH: [null, "f"], "QM-30": [null, "f"],
  });
});
