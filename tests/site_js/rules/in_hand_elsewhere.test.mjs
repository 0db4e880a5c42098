/** Which phone a block is in hand on. Expectations follow by hand from the rule that stands beside it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { foldBlock } from "../../../site/static/js/rules/block.mjs";
import { inHandElsewhere, weighedTwice } from "../../../site/static/js/rules/in_hand_elsewhere.mjs";

const BENCH = "aaaaaaaaaa";
const FLOOR = "bbbbbbbbbb";
const DEVICES = ["", BENCH, FLOOR];

/** "kind", who, on which phone, and other fields; its place tells its instant. */
const block = (...told) =>
  told.map(([kind, person, device, fields], n) => ({
    id: `e${n}`, at: `2026-11-25T08:${String(n).padStart(2, "0")}:00.000Z`, local: "", kind, person, subject: "block:QM-1/2",
    ...(device ? { device } : {}), ...fields,
  }));

test("the phone that told last is where the block is, for every phone but itself", () => {
  const events = block(["checked", "Q", FLOOR], ["weighed", "J", BENCH]);
  assert.deepEqual(inHandElsewhere(events, FLOOR), { device: BENCH, person: "J", at: "2026-11-25T08:01:00.000Z" });
  assert.deepEqual(inHandElsewhere(events.toReversed(), FLOOR), { device: BENCH, person: "J", at: "2026-11-25T08:01:00.000Z" });
  assert.equal(inHandElsewhere(events, BENCH), null);
});

test("a phone that isn't paired is told nothing, and neither is anybody of what no phone is known of", () => {
  assert.equal(inHandElsewhere(block(["weighed", "J", BENCH]), ""), null);
  for (const device of DEVICES) {
    assert.equal(inHandElsewhere([], device), null);
    assert.equal(inHandElsewhere(block(["weighed", "J"]), device), null);
    assert.equal(inHandElsewhere(block(["weighed", "J", BENCH], ["weighed", "J"]), device), null);
  }
});

test("taken over, it is where it was taken to; and back again", () => {
  const taken = block(["weighed", "J", BENCH], ["taken_over", "Q", FLOOR, { from: BENCH }]);
  assert.equal(inHandElsewhere(taken, FLOOR), null);
  assert.equal(inHandElsewhere(taken, BENCH)?.person, "Q");
  const back = block(["weighed", "J", BENCH], ["taken_over", "Q", FLOOR, { from: BENCH }], ["taken_over", "J", BENCH, { from: FLOOR }]);
  assert.equal(inHandElsewhere(back, BENCH), null);
  assert.equal(inHandElsewhere(back, FLOOR)?.device, BENCH);
});

test("whoever puts a reading right from another phone takes nothing out of the hands of who weighs", () => {
  const events = block(["weighed", "J", BENCH], ["corrected", "Q", FLOOR, { corrects: "e0", reading: "1.02" }]);
  assert.equal(inHandElsewhere(events, BENCH), null);
  assert.equal(inHandElsewhere(events, FLOOR)?.person, "J");
});

test("a closed block is in nobody's hand, whatever a phone tells that had not heard of it", () => {
  for (const device of DEVICES) {
    assert.equal(inHandElsewhere(block(["weighed", "J", BENCH], ["closed", "J", BENCH], ["taken_over", "Q", FLOOR, { from: BENCH }]), device), null);
  }
});

test("a step that two phones have weighed is told as weighed twice; one checked twice, or weighed once, is not", () => {
  const steps = ["check", "oil", "lye"].map((key) => ({ key, kind: key === "check" ? "confirm" : "weigh" }));
  const once = [["checked", "J", BENCH, { step: "check" }], ["weighed", "J", BENCH, { step: "oil", reading: "1.00" }]];
  assert.deepEqual(weighedTwice(foldBlock(steps, block(...once))), []);
  const forked = block(...once, ["checked", "Q", FLOOR, { step: "check" }], ["weighed", "Q", FLOOR, { step: "oil", reading: "1.00" }]);
  assert.deepEqual(weighedTwice(foldBlock(steps, forked)), ["oil"]);
});
