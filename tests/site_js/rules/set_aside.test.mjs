import assert from "node:assert/strict";
import { test } from "node:test";
import { batchEntry } from "../../../site/static/js/rules/fold.mjs";
import { blocksWithAside } from "../../../site/static/js/rules/set_aside.mjs";

const measured = (subject, step, reading) => ({ at: "2026-11-26T09:00:00.000Z", kind: "measured", subject, step, reading });

test("a block of which something was told set aside is a lot, once, the newest first", () => {
  const events = [
    measured("block:A/1", "after:trim", "2.40"),
    measured("block:B/2", "after:set-aside", "3"),
    measured("block:A/1", "after:set-aside", "1"),
    measured("block:C-1/1", "after:first-bar", "140"),
  ];
  assert.deepEqual(blocksWithAside(events), [
    { id: "A:1", code: "A", block: 1 },
    { id: "B:2", code: "B", block: 2 },
  ]);
});

test("a reading of nothing, and one that was left out, set nothing aside", () => {
  assert.deepEqual(blocksWithAside([measured("block:A/1", "after:trim", "0.00"), measured("block:A/1", "after:set-aside", undefined)]), []);
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
  assert.deepEqual(blocksWithAside([told, gone]), []);
  assert.equal(blocksWithAside([told, gone, at(measured("block:A/1", "after:trim", "3"), "2026-12-02T10:00:00.000Z")]).length, 1);
});
