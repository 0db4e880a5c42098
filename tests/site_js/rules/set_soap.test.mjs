import assert from "node:assert/strict";
import { test } from "node:test";
import { SHOWN_USES } from "../../../site/static/js/rules/fold.mjs";
import { setSoap } from "../../../site/static/js/rules/set_soap.mjs";

/** The nth block that was racked, a minute after the one before. */
const racked = (n, of_formula, density_g_per_ml, more = {}) => ({
  id: `r${String(n).padStart(3, "0")}`, at: new Date(Date.UTC(2026, 10, 25, 8, n)).toISOString(), local: "", kind: "racked", subject: `block:QM-${n}/1`, trays: 4,
  of_formula, density_g_per_ml, ...more,
});

test("each racked block with a weighed first bar tells one density of its formula", () => {
  const events = [racked(1, "Plain", 1.02), racked(2, "Reed", 1.05), racked(3, "Plain", 1.04), racked(4, "Plain", null), racked(5, "", 1.03)];
  const told = setSoap(events).map(({ of_formula, density_g_per_ml }) => `${of_formula} ${density_g_per_ml}`);
  assert.deepEqual(told.sort(), ["Plain 1.02", "Plain 1.04", "Reed 1.05"]);
});

test("a block that two phones have racked counts once, by what was told first", () => {
  const twice = [racked(1, "Plain", 1.02), racked(2, "Plain", 1.3, { subject: "block:QM-1/1" })];
  assert.deepEqual(setSoap(twice), [{ of_formula: "Plain", density_g_per_ml: 1.02 }]);
  assert.deepEqual(setSoap(twice.reverse()), setSoap(twice));
});

test("a block in which a reading was put right after it was racked doesn't count; one put right before does", () => {
  const right = (n, subject) => ({ ...racked(n, undefined, undefined), id: `c${n}`, kind: "corrected", subject });
  const events = [racked(2, "Plain", 1.02), racked(3, "Plain", 1.04), right(1, "block:QM-2/1"), right(4, "block:QM-3/1")];
  assert.deepEqual(setSoap(events), [{ of_formula: "Plain", density_g_per_ml: 1.02 }]);
});

test("of many blocks the newest count", () => {
  const many = Array.from({ length: SHOWN_USES + 5 }, (_, n) => racked(n, "Plain", 1 + n / 1000));
  const told = setSoap(many).map(({ density_g_per_ml }) => density_g_per_ml);
  assert.equal(told.length, SHOWN_USES);
  assert.ok(Math.min(...told) === 1.005 && told.includes(1.024));
});
