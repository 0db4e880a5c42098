import assert from "node:assert/strict";
import { test } from "node:test";

import { eyewashOf, isDay, worstOf } from "../../../site/static/js/rules/eyewash.mjs";
import { check, event } from "../walks_for_tests.mjs";

test("the eyewash check recorded last on a day counts, by the day it was made; not in order is not held", () => {
  const state = (events, today) => eyewashOf(events, "weekly", { days: 7 }, today).state;
  assert.equal(state([], "2026-11-25"), "never");
  // ANSI/ISEA Z358.1, 4.6.2: weekly; the days counted by hand.
  const held = check({ day: "2026-11-20" });
  assert.equal(state([held], "2026-11-27"), "held");
  assert.equal(state([held], "2026-11-28"), "over");
  assert.equal(state([held, check({ day: "2026-11-25", tepid: "no" })], "2026-11-25"), "faulty");
  assert.equal(state([check({ day: "2026-11-25", order: "no" }), check({ day: "2026-11-25" })], "2026-11-25"), "held");
  // A check of three days ago doesn't lift a fault found today. A check of the same day does.
  const faulty = check({ day: "2026-11-25", way_free: "no" });
  assert.equal(state([faulty, check({ day: "2026-11-22" })], "2026-11-25"), "faulty");
  assert.equal(state([faulty, check({ day: "2026-11-22" }), check({ day: "2026-11-25" })], "2026-11-25"), "held");
  assert.equal(state([faulty, check({ day: "2026-11-26" })], "2026-11-26"), "held");
  assert.equal(eyewashOf([event("eyewash_checked", { person: "Q", subject: "eyewash:weekly" })], "weekly", { days: 7 }, "2026-11-26").day, "2026-11-25");
  assert.ok(isDay("2028-02-29") && !isDay("2027-02-29") && !isDay("25.11.2026") && !isDay(""));
});

test("an eyewash check that is entered late doesn't overturn one of a later day", () => {
  const state = (...events) => eyewashOf(events, "weekly", { days: 7 }, "2026-11-25").state;
  assert.equal(state(check({ day: "2026-11-25" }), check({ day: "2026-11-19", order: "no" })), "held");
  assert.equal(state(check({ day: "2026-11-25" }), check({ day: "2026-11-05" })), "held");
});

test("an eyewash check of a day to come, by a clock that was ahead, is put right by one of today", () => {
  const state = (...events) => eyewashOf(events, "weekly", { days: 7 }, "2026-11-25");
  const ahead = check({ day: "2027-11-25", order: "no" });
  assert.equal(state(ahead).state, "faulty");
  assert.equal(state(ahead, check({ day: "2026-11-24" })).state, "faulty");
  assert.equal(state(ahead, check({ day: "2026-11-25" })).state, "held");
  // Held no longer than one made today: 25 + 7.
  assert.equal(state(check({ day: "2027-11-25" })).until, "2026-12-02");
});

test("the card is told the worst of the eyewash checks and the first day on which one is overdue", () => {
  const found = (state, until) => ({ state, day: "", until, person: "" });
  assert.deepEqual(worstOf([found("held", "2026-11-28"), found("held", "2027-05-01")]), { state: "held", overdue_from: "2026-11-29" });
  assert.deepEqual(worstOf([found("over", "2026-11-20"), found("never", "")]), { state: "never", overdue_from: "" });
  assert.equal(worstOf([found("over", "2026-11-20"), found("faulty", "2027-01-01")]).state, "faulty");
});
