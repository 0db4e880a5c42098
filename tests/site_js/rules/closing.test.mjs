import assert from "node:assert/strict";
import { test } from "node:test";

import { closingOf, isStale } from "../../../site/static/js/rules/closing.mjs";
import { logEntry } from "../../../site/static/js/rules/log.mjs";
import { batchForCost } from "../../../site/static/js/rules/stock.mjs";

let n = 0;
const told = (id, kind, fields = {}) => {
  n += 1;
  const at = new Date(Date.UTC(2026, 10, 25, 8) + n * 60_000).toISOString();
  return { id, at, local: at, kind, subject: "block:QM-1/1", person: "Q", ...fields };
};
const weighed = told("w", "weighed", { step: "lye:naoh", reading: "4.10", unit: "kg", lot: "NAO-1" });
const amounts = (g) => ({ amounts: [{ pour: "lye:naoh", name: "Lye", lot: "NAO-1", planned_g: 4000, actual_g: g }] });
const closed = (id, g, fields = {}) => told(id, "closed", { outcome: "poured", record: amounts(g), ...fields });
const corrected = (id, reading, corrects = "w") => told(id, "corrected", { corrects, reading, unit: "kg", reason: "misread" });

test("a correction after closing makes the record stale until the block is closed again", () => {
  const first = closed("c1", 4100);
  const [fix, again, more] = [corrected("x", "4.30"), closed("c2", 4300, { renews: "c1" }), corrected("y", "4.35")];
  const states = [[], [fix], [fix, again], [fix, again, more]].map((later) => [closingOf([weighed, first, ...later]).id, isStale([weighed, first, ...later])]);
  assert.deepEqual(states, [["c1", false], ["c1", true], ["c2", false], ["c2", true]]);
});

test("what another phone closed again without knowing of it asks to be closed once more", () => {
  const life = [weighed, closed("d1", 4100), corrected("x", "4.30"), corrected("y", "4.35"), closed("d2", 4300, { renews: "d1" }), closed("d3", 4350, { renews: "d1" })];
  assert.deepEqual([closingOf(life).id, isStale(life)], ["d2", true]);
  const last = closed("d4", 4350, { renews: "d2" });
  assert.deepEqual([closingOf([...life, last]).id, isStale([...life, last])], ["d4", false]);
});

test("a count of bars put right, and a block set apart, leave the record as it is", () => {
  const bars = told("b", "measured", { step: "after:good", reading: "294", unit: "bars" });
  assert.equal(isStale([weighed, closed("e1", 4100), bars, corrected("x", "249", "b")]), false);
  assert.equal(isStale([weighed, told("q", "closed", { outcome: "quarantined", reason: "lye twice" }), corrected("z", "4.30")]), false);
});

test("log, stock and cost go by the closing that counts", () => {
  const issued = { ...told("i", "issued", { code: "QM-1", blocks: 1, formula: { event: "f", name: "Marsh" }, pours: [{ key: "lye:naoh", kind: "alkali", lot: "NAO-1" }] }), subject: "batch:QM-1" };
  const life = [weighed, closed("f1", 4100), closed("f0", 3900), corrected("x", "4.30"), closed("f2", 4300, { renews: "f1" })];
  const entry = logEntry([issued, ...life]);
  assert.deepEqual(entry.used.map(({ lot, g }) => [lot, g]), [["NAO-1", 4300]]);
  // When it was closed is when it was closed first: what came off a lot came off it then.
  assert.equal(entry.parts[0].closed_at, life[1].local);
  assert.deepEqual(batchForCost(issued, life).blocks[0].amounts.map(({ planned_g }) => planned_g), [4000]);
});
