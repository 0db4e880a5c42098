import assert from "node:assert/strict";
import { test } from "node:test";
import { batchEntry } from "../../../site/static/js/rules/fold.mjs";
import { asideOf } from "../../../site/static/js/rules/set_aside.mjs";

const measured = (subject, step, reading) => ({ at: "2026-11-26T09:00:00.000Z", kind: "measured", subject, step, reading });

test("soap is set aside of a block of which trim or whole bars were told, and what a bar weighs is none", () => {
  const told = [measured("block:A/1", "after:trim", "2.40"), measured("block:A/1", "after:set-aside", "1"), measured("block:A/1", "after:first-bar", "140")];
  assert.equal(asideOf(told), told[1]);
  assert.equal(asideOf([measured("block:C-1/1", "after:first-bar", "140")]), undefined);
});

test("a reading of nothing, and one that was left out, set nothing aside", () => {
  assert.equal(asideOf([measured("block:A/1", "after:trim", "0.00"), measured("block:A/1", "after:set-aside", undefined)]), undefined);
});

test("the entry of a batch names the lots that go into it, and only where some do", () => {
  const issued = { id: "1", kind: "issued", subject: "batch:B", code: "B", at: "", local: "" };
  assert.deepEqual(batchEntry({ ...issued, set_aside: { lots: [{ id: "A:1", taken_g: 5 }] } }).takes, ["A:1"]);
  assert.ok(!("takes" in batchEntry(issued)));
});

test("what is gone is no lot any more, until more of it is told", () => {
  const at = (event, moment) => ({ ...event, at: moment });
  const told = at(measured("block:A/1", "after:trim", "2"), "2026-11-26T10:00:00.000Z");
  const gone = { at: "2026-12-01T10:00:00.000Z", kind: "aside_gone", subject: "aside:A/1" };
  assert.equal(asideOf([told, gone]), undefined);
  const more = at(measured("block:A/1", "after:trim", "3"), "2026-12-02T10:00:00.000Z");
  assert.equal(asideOf([told, gone, more]), more);
});

test("a reading that was put right counts as it was put right", () => {
  const none = { ...measured("block:A/1", "after:trim", "0.00"), id: "m1" };
  const right = (reading) => ({ at: "2026-11-27T09:00:00.000Z", kind: "corrected", subject: "block:A/1", corrects: "m1", reading });
  assert.equal(asideOf([none, right("2.40")]), none);
  assert.equal(asideOf([{ ...none, reading: "2.40" }, right("0.00")]), undefined);
});
