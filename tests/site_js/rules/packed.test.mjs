import assert from "node:assert/strict";
import { test } from "node:test";

import { standingPackings } from "../../../site/static/js/rules/packed.mjs";

const told = (id, kind, subject, fields = {}) => ({ id, kind, subject, ...fields });

test("a packing taken back is gone, unless bars of it were sent that nobody took back", () => {
  const packings = [told("p1", "packed", "packed:p"), told("q1", "packed", "packed:q"), told("r1", "packed", "packed:r")];
  const back = [told("t1", "packed_taken_back", "packed:p", { takes: "p1" }), told("t2", "packed_taken_back", "packed:q", { takes: "q1" })];
  const standing = (...more) => standingPackings([...packings, ...back, ...more]).map(({ id }) => id);
  assert.deepEqual(standing(), ["r1"]);
  assert.deepEqual(standing(told("s1", "sent", "packed:p")), ["p1", "r1"]);
  assert.deepEqual(standing(told("s1", "sent", "packed:p"), told("t3", "packed_taken_back", "packed:p", { takes: "s1" })), ["r1"]);
});
