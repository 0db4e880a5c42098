/** Which steps stand on one screen: none that is not told there, none amid the pours, and sheets of every age alike. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { foldBlock } from "../../../site/static/js/rules/block.mjs";
import { checksTogether, doneTogether, startsWith } from "../../../site/static/js/rules/joined.mjs";

const step = (key, kind = "confirm") => ({ key, kind, safety: false });
// The order of work of calc/steps (tests/calc/steps/test_order_of_work.py writes it out), for lye from a tank and for flakes.
const TANK = [
  step("check:protect"), step("check:eyewash"), step("check:vessel"), step("check:zero"), step("check:tare-oils"), step("oil:0", "weigh"),
  step("reserve:lye"), step("check:tare-lye"), step("lye:naoh", "weigh"), step("mix", "timer"), step("trace"), step("scent", "weigh"),
  step("pour"), step("cover"), step("unmould", "timer"),
];
const FLAKES = [
  step("check:protect"), step("check:vessel"), step("water", "weigh"), step("lye:naoh", "weigh"), step("lye:dissolve"), step("check:zero"),
  step("check:tare-oils"), step("oil:0", "weigh"),
];
const done = (steps, until) => steps.slice(0, steps.findIndex(({ key }) => key === until)).map(({ key, kind }, n) => ({
  id: `e${n}`, at: `2026-11-25T08:00:${String(n).padStart(2, "0")}.000Z`, step: key, action: "ended",
  kind: { confirm: "checked", weigh: "weighed", timer: "timed" }[kind],
}));
const at = (steps, key) => foldBlock(steps, done(steps, key));
const keys = (steps) => steps.map(({ key }) => key);

test("what is looked over before the first pour stands on one screen, from its first line to its last", () => {
  const all = ["check:protect", "check:eyewash", "check:vessel", "check:zero", "check:tare-oils"];
  for (const key of all) assert.deepEqual(keys(checksTogether(at(TANK, key))), all, key);
});

test("the mould made ready stands with them, and sheets from before that step are worked alike", () => {
  const ready = [...TANK.slice(0, 3), step("mould:ready"), ...TANK.slice(3)];
  assert.equal(checksTogether(at(ready, "check:protect")).length, 6);
});

test("caustic is dissolved on a screen of its own, and the scale is looked over behind it", () => {
  assert.deepEqual(keys(checksTogether(at(FLAKES, "check:protect"))), ["check:protect", "check:vessel"]);
  assert.deepEqual(checksTogether(at(FLAKES, "lye:dissolve")), []);
  assert.deepEqual(keys(checksTogether(at(FLAKES, "check:zero"))), ["check:zero", "check:tare-oils"]);
});

test("amid the pours nothing is joined: reserve, tare before the lye, and every weighing stand alone", () => {
  for (const key of ["oil:0", "reserve:lye", "check:tare-lye", "lye:naoh", "scent"]) {
    assert.deepEqual([checksTogether(at(TANK, key)), doneTogether(at(TANK, key))], [[], []], key);
  }
});

test("who ends the mixing has seen trace; who has poured covers, and the time in the mould begins", () => {
  const idle = () => false;
  assert.deepEqual(keys(doneTogether(at(TANK, "mix"))), ["trace"]);
  assert.equal(startsWith(at(TANK, "mix"), idle), null);
  assert.deepEqual(keys(doneTogether(at(TANK, "pour"))), ["cover"]);
  assert.equal(startsWith(at(TANK, "pour"), idle)?.key, "unmould");
  // Killed between the two: the rest is asked for by itself.
  assert.deepEqual(doneTogether(at(TANK, "cover")), []);
  assert.equal(startsWith(at(TANK, "cover"), idle)?.key, "unmould");
  assert.equal(startsWith(at(TANK, "cover"), () => true), null);
  // A shop that covers nothing, and one that sets no time: unmoulding is then confirmed on its day.
  const bare = TANK.filter(({ key }) => key !== "cover");
  assert.deepEqual(doneTogether(at(bare, "pour")), []);
  assert.equal(startsWith(at(bare, "pour"), idle)?.key, "unmould");
  const timeless = [...TANK.slice(0, -1), step("unmould")];
  assert.equal(startsWith(at(timeless, "pour"), idle), null);
});
