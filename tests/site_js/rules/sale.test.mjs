/** Which block of a batch its release is about; by hand. */

import assert from "node:assert/strict";
import test from "node:test";

import { toRelease } from "../../../site/static/js/rules/sale.mjs";

const parts = (...states) => states.map((state, n) => ({ n: n + 1, state }));

test("a batch's release opens at the first block that waits for one, else at the first that was decided on", () => {
  assert.equal(toRelease(parts("released", "curing", "cured")), 2);
  assert.equal(toRelease(parts("poured", "rejected", "released")), 2);
});

test("a batch of which nothing is cut, or all is set apart or given up, has no release to open", () => {
  assert.equal(toRelease(parts("issued", "weighing", "poured")), null);
  assert.equal(toRelease(parts("apart", "ended")), null);
});
