/** What the page of the day offers to be made, out of a store with records. */
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { test } from "node:test";
import { clock } from "../../../site/static/js/store/clock.mjs";
import { append, eventsAbout, eventsBetween, merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { freshDatabase } from "../database_for_tests.mjs";
import { values } from "../page_for_tests.mjs";

const { app, reload } = await import("../../../site/static/js/frame/app.mjs");
const { readPlan, shownDay } = await import("../../../site/static/js/day/read.mjs");
const { openDay } = await import("../../../site/static/js/day/opening.mjs");

const issued = (minute, code, more = {}) => ({ ...newEvent("issued", `batch:${code}`, { code, html: "<p>1</p>", blocks: 2, steps: [], pours: [], formula: { id: "f", name: "Marsh", revision: 1, event: "e" }, ...more }), at: `2026-12-01T08:0${minute}:00.000Z` });

const plan = (day, values = {}) => newEvent("day_planned", `day:${day}`, { person: "Q", values, entries: [] });

test("of one day's plan only what is about that day is read", async () => {
  await freshDatabase();
  const today = plan("2026-12-01");
  await merge([plan("2026-11-30"), today, plan("2026-12-10")]);
  assert.deepEqual((await eventsAbout("day:2026-12-01")).map(({ id }) => id), [today.id]);
  assert.deepEqual(await eventsAbout("day:2026-12-1"), []);
  assert.deepEqual((await eventsBetween("day:", "2026-12-01", "~")).map(({ subject }) => subject), ["day:2026-12-01", "day:2026-12-10"]);
});

test("of years of plans the page holds the one of the day it shows, and turns to another", async () => {
  await freshDatabase();
  await merge([plan("2025-12-01"), plan("2026-12-01", { starts_at: "06:00" }), plan("2026-12-02", { starts_at: "09:00" })]);
  globalThis.location = { hash: "#2026-12-01" };
  await readPlan("2026-12-01");
  assert.deepEqual(app.state.day_plan, [{ id: "2026-12-01", values: { starts_at: "06:00" } }]);
  location.hash = "#2026-12-02";
  // What was asked for before the page turned comes too late to count.
  await Promise.all([readPlan("2026-12-02"), readPlan("2026-12-01")]);
  assert.deepEqual(app.state.day_plan, [{ id: "2026-12-02", values: { starts_at: "09:00" } }]);
  // A place on the page is no day.
  location.hash = "#content";
  assert.equal(shownDay(), "2026-12-02");
  location.hash = "#2026-12-03";
  await readPlan("2026-12-03");
  assert.deepEqual(app.state.day_plan, []);
});

test("the page opens on today, and on tomorrow once today's work is over, and says so", async () => {
  await freshDatabase();
  values.clear();
  const line = { hidden: true, link: "", querySelector: () => ({ setAttribute: (_, to) => (line.link = to) }) };
  const found = document.querySelector;
  document.querySelector = (selector) => (selector === "[data-turned]" ? line : found(selector));
  globalThis.history = { state: null, replaceState: (_state, _title, to) => (location.hash = to) };
  const now = clock.now;
  const opened = async (time, hash = "") => {
    clock.now = () => Date.parse(`2026-12-31T${time}:00`);
    globalThis.location = { hash };
    await openDay("18:00");
    return [location.hash, line.hidden, line.link];
  };
  app.state.made = [];
  assert.deepEqual(await opened("17:59"), ["#2026-12-31", true, "#2026-12-31"]);
  assert.deepEqual(await opened("18:00"), ["#2027-01-01", false, "#2026-12-31"]);
  // A day that is asked for is the one that is shown: today, back from tomorrow.
  assert.deepEqual(await opened("18:00", "#2026-12-31"), ["#2026-12-31", true, "#2026-12-31"]);
  await merge([plan("2026-12-31", { ends_at: "16:00" })]);
  assert.deepEqual(await opened("16:10"), ["#2027-01-01", false, "#2026-12-31"]);
  app.state.made = [{ code: "QM-1", formula: { name: "Marsh" }, told: { 1: [{ kind: "checked", local: "2026-12-31T15:00:00" }] } }];
  assert.deepEqual(await opened("16:10"), ["#2026-12-31", true, "#2026-12-31"], "a block is in hand");
  Object.assign(clock, { now });
  document.querySelector = found;
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
