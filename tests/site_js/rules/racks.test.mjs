import assert from "node:assert/strict";
import { test } from "node:test";

import { everRacked, readyFrom } from "../../../site/static/js/rules/racks.mjs";

const onRacks = (events) => everRacked(events).filter(({ off }) => !off);

let count = 0;
const event = (kind, day, fields = {}, subject = "cure:QM-1/2") => ({ id: `e${(count += 1)}`, at: `${day}T08:00:00.000Z`, local: `${day}T09:00:00+01:00`, kind, subject, person: "Q", ...fields });
const racked = (fields = {}) => event("cure_racked", "2026-11-02", { soap: "Marsh Plain", values: { code: "QM-1", block: "2", ...fields } });
const weighed = (day, next_on, ready_on) => event("cure_weighed", day, { values: {}, next_on, ready_on });
const PRACTICE_WEEKS = { weeks: "", loss: "", usual: 5 };

test("a batch is weighed first on the day it is cut, then on the day that its weighing named", () => {
  assert.deepEqual(onRacks([racked()]).map(({ id, soap, cut, weigh }) => [id, soap, cut, weigh]), [["QM-1:2", "Marsh Plain", "2026-11-02", "2026-11-02"]]);
  assert.deepEqual(onRacks([racked({ cut_on: "2026-10-30" })]).map(({ cut, weigh }) => [cut, weigh]), [["2026-10-30", "2026-10-30"]]);
  const [batch] = onRacks([racked(), weighed("2026-11-05", "2026-11-09", "2026-12-01"), weighed("2026-11-09", "2026-11-16")]);
  // The newest weighing names the next one; where it has no forecast, the one before holds.
  assert.deepEqual([batch.weigh, batch.ready], ["2026-11-16", "2026-12-01"]);
});

test("a block that tells of its rack at the cutter is there, once, also when it gets its places later", () => {
  const atCutter = event("racked", "2026-11-01", { step: "after:rack", trays: 4, of_formula: "Reed Lavender" }, "block:QM-1/2");
  assert.deepEqual(onRacks([atCutter]).map(({ id, soap, cut }) => [id, soap, cut]), [["QM-1:2", "Reed Lavender", "2026-11-01"]]);
  assert.deepEqual(onRacks([atCutter, racked()]).map(({ soap, cut }) => [soap, cut]), [["Marsh Plain", "2026-11-01"]]);
});

test("what is off the rack is told no more, and what was taken back counts as if it never was", () => {
  const off = event("cure_ready", "2026-12-01", { values: {} });
  assert.deepEqual(onRacks([racked(), off]), []);
  const back = event("cure_taken_back", "2026-12-02", { takes: off.id });
  assert.equal(onRacks([racked(), off, back]).length, 1);
  const wrong = weighed("2026-11-05", "2026-11-09", "2026-12-01");
  const [batch] = onRacks([racked(), wrong, event("cure_taken_back", "2026-11-05", { takes: wrong.id })]);
  assert.deepEqual([batch.weigh, batch.ready], ["2026-11-02", ""]);
});

test("a batch that is off its rack is back on one once it is moved there or racked anew", () => {
  const off = () => event("cure_ready", "2026-12-01", { values: {} });
  const atCutter = event("racked", "2026-11-01", { step: "after:rack", trays: 4, of_formula: "Reed Lavender" }, "block:QM-1/2");
  assert.deepEqual(everRacked([racked(), off()]).map((batch) => [batch.id, batch.off]), [["QM-1:2", true]]);
  assert.equal(onRacks([racked(), off(), event("cure_moved", "2026-12-02", { values: { to: "rack" } })]).length, 1);
  assert.equal(onRacks([atCutter, off(), racked()]).length, 1);
  assert.deepEqual(onRacks([racked(), off(), atCutter]), []);
});

test("a batch is ready by its forecast, else by the maker's weeks, else by the usual ones, and by no guess of a loss", () => {
  const [batch] = onRacks([racked()]);
  // By the calendar: 2 November and 28 days is 30 November, and 35 days is 7 December.
  assert.equal(readyFrom(batch, { ...PRACTICE_WEEKS, weeks: "4" }), "2026-11-30");
  assert.equal(readyFrom(batch, PRACTICE_WEEKS), "2026-12-07");
  assert.equal(readyFrom(batch, { ...PRACTICE_WEEKS, loss: "0.5" }), "");
  assert.equal(readyFrom(batch, { ...PRACTICE_WEEKS, weeks: "four" }), "");
  assert.equal(readyFrom({ ...batch, ready: "2026-12-20" }, { ...PRACTICE_WEEKS, loss: "0.5" }), "2026-12-20");
});
