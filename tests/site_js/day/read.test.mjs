/** What the page of the day offers to be made, out of a store with records. */
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { test } from "node:test";
import { append, eventsAbout, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { freshDatabase } from "../database_for_tests.mjs";
import "../page_for_tests.mjs";

const { app, reload } = await import("../../../site/static/js/frame/app.mjs");
await import("../../../site/static/js/day/read.mjs");

const issued = (minute, code, more = {}) => ({ ...newEvent("issued", `batch:${code}`, { code, html: "<p>1</p>", blocks: 2, steps: [], pours: [], formula: { id: "f", name: "Marsh", revision: 1, event: "e" }, ...more }), at: `2026-12-01T08:0${minute}:00.000Z` });

test("of one day's plan only what is about that day is read", async () => {
  await freshDatabase();
  const plan = (day) => newEvent("day_planned", `day:${day}`, { person: "Q", values: {}, entries: [] });
  const today = plan("2026-12-01");
  await merge([plan("2026-11-30"), today, plan("2026-12-10")]);
  assert.deepEqual((await eventsAbout("day:2026-12-01")).map(({ id }) => id), [today.id]);
  assert.deepEqual(await eventsAbout("day:2026-12-1"), []);
});

test("a replaced sheet that nobody began is not offered, its replacement is, and one that was begun goes on", async () => {
  await freshDatabase();
  await merge([issued(1, "QM-1"), issued(2, "QM-2"), issued(3, "QM-3", { replaces: "QM-1" }), issued(4, "QM-4", { replaces: "QM-2" })]);
  await append(newEvent("checked", "block:QM-2/1", { person: "Q", step: "gear" }));
  await reload();
  assert.deepEqual(app.state.to_make.map(({ id }) => id).sort(), ["sheet:QM-2", "sheet:QM-3", "sheet:QM-4"]);
  // A plan from before it was replaced can still be opened.
  assert.ok(app.state.made.some(({ code }) => code === "QM-1"));
});
