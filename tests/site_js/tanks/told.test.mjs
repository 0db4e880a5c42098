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
  Object.assign(app, { demo: DEMO, state: { contents: DEMO.contents } });
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
