import assert from "node:assert/strict";
import { test } from "node:test";

import { confirmedNames } from "../../../site/static/js/rules/inci.mjs";
import { isAsDeclared } from "../../../site/static/js/rules/schema.mjs";

const event = (n, kind, fields) => ({ id: `e${n}`, at: `2026-11-25T08:0${n}:00.000Z`, local: `2026-11-25T08:0${n}:00+00:00`, kind, subject: "inci:olive.raw.us", person: "Q", ...fields });

test("the last name counts that nobody took back, in whatever order they come", () => {
  const [wrong, right] = [event(1, "inci_confirmed", { name: "Olea Europea" }), event(2, "inci_confirmed", { name: "Olea Europaea" })];
  const names = (...events) => confirmedNames(events).map(({ key, name, id }) => [key, name, id]);
  assert.deepEqual(names(right, wrong), [["olive.raw.us", "Olea Europaea", "e2"]]);
  const back = event(3, "inci_taken_back", { takes: "e2" });
  assert.deepEqual(names(back, right, wrong), [["olive.raw.us", "Olea Europea", "e1"]]);
  assert.deepEqual(names(event(4, "inci_taken_back", { takes: "e1" }), back, right, wrong), []);
});

test("taking a name back is an event that a copy may bring", () => {
  assert.ok(isAsDeclared(event(3, "inci_taken_back", { takes: "e2" })));
  assert.ok(!isAsDeclared(event(3, "inci_taken_back", {})));
});
