import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import test from "node:test";

import { asDeed, fillOf, fillSubject, foldFill, gates, isInHand, isOfFill, isTooWarm, leftUnread, ofFill, openGate, readAgain, readLater, tankOf, WAIT_AGAIN } from "../../../site/static/js/rules/fill.mjs";
import { handlesLye } from "../../../site/static/js/rules/lye_training.mjs";
import { BLOCK_KINDS, FILL_KINDS } from "../../../site/static/js/rules/kinds.mjs";

const ID = "t-lye.20261201070500";
const step = (key, kind = "confirm") => ({ key, kind });
const STEPS = [step("check:tank"), step("water:1", "weigh"), step("tank:label")];
let second = 0;
const event = (kind, fields = {}) => ({ id: `e${(second += 1)}`, at: `2026-12-01T07:05:${String(second).padStart(2, "0")}.000Z`, local: "", kind, subject: fillSubject(ID), person: "Q", ...fields });
const whole = () => [event("checked", { step: "check:tank" }), event("weighed", { step: "water:1", reading: "15.92", unit: "kg" }), event("checked", { step: "tank:label" })];

test("a fill is named by its tank and the second it was begun", () => {
  assert.equal(fillOf(fillSubject(ID)), ID);
  assert.equal(tankOf(ID), "t-lye");
  assert.equal(tankOf("8f14e45f-ceea-467f-a0a1-1c2d3e4f5a6b.20261201070500"), "8f14e45f-ceea-467f-a0a1-1c2d3e4f5a6b");
  assert.ok(isOfFill(fillSubject(ID)) && !isOfFill("block:QM-1/1") && !isOfFill("contents:t-lye"));
});

test("no deed of a fill is stored under a name that a block's has, and each is read under it", () => {
  for (const kind of ["weighed", "checked", "timed", "corrected", "decided", "closed", "lots", "trained", "taken_over"]) {
    assert.ok(FILL_KINDS.includes(ofFill(kind)) && !BLOCK_KINDS.includes(ofFill(kind)), kind);
    assert.equal(asDeed(event(ofFill(kind))).kind, kind);
  }
  assert.equal(asDeed(event("tank_loaded")).kind, "tank_loaded");
});

test("a fill goes step by step and ends by its closing", () => {
  const [first, ...rest] = whole();
  assert.equal(foldFill(STEPS, []).index, 0);
  assert.equal(foldFill(STEPS, [first]).index, 1);
  assert.equal(foldFill(STEPS, [first, ...rest]).closed, null);
  const closed = event("closed", { outcome: "poured", load: "l1" });
  assert.equal(foldFill(STEPS, [closed, ...rest, first]).closed, closed);
});

test("a correction opens the end of a closed fill again, and a second closing ends it", () => {
  const done = whole();
  const closed = event("closed", { outcome: "poured", load: "l1" });
  const corrected = event("corrected", { corrects: done[1].id, reading: "15.94", unit: "kg", reason: "The display was misread" });
  const open = foldFill(STEPS, [...done, closed, corrected]);
  assert.deepEqual([open.closed, open.index], [null, STEPS.length]);
  const again = event("closed", { outcome: "poured", load: "l2" });
  assert.equal(foldFill(STEPS, [...done, closed, corrected, again]).closed, again);
});

test("who stopped a fill early goes on with none of its steps, corrected or not", () => {
  const [first] = whole();
  const stopped = event("closed", { outcome: "poured", reason: "It got too hot" });
  assert.equal(foldFill(STEPS, [first, stopped]).index, STEPS.length);
  assert.equal(foldFill(STEPS, [first, stopped, event("corrected", { corrects: first.id, reading: "1", unit: "kg" })]).index, STEPS.length);
});

test("a fill is in hand from its beginning to its closing, and again once corrected", () => {
  const issued = event("fill_issued");
  const closed = event("fill_closed");
  assert.ok(!isInHand([]) && isInHand([issued]) && !isInHand([issued, closed]) && isInHand([issued, closed, event("fill_corrected")]));
  assert.ok(isInHand([issued, event("fill_taken_over")]) && !isInHand([issued, closed, event("fill_taken_over")]));
});

test("a stop that bars lye bars every step of a fill by which lye stands open, and no other", () => {
  const plain = { pour: null, pour_kind: null };
  for (const key of ["lye:temp:2", "lye:stir", "lye:water:1"]) assert.ok(handlesLye({ key, ...plain }), key);
  for (const key of ["lye:naoh:1", "lye:in:lye:naoh:1", "add:lye:naoh:9"]) assert.ok(handlesLye({ key, pour: "lye:naoh", pour_kind: "alkali" }), key);
  for (const key of ["check:tank", "water:1", "wait:2", "tank:label", "oil:0:1"]) assert.ok(!handlesLye({ key, ...plain }), key);
});

test("too warm for its portion: a wait and the same reading come before any caustic, as often as it is too warm", () => {
  const step = (key, kind, more = {}) => ({ key, kind, high: null, low: null, ...more });
  const steps = [
    step("lye:temp:1", "temperature", { high: 1620 }), step("lye:naoh:1", "weigh"), step("wait:2", "timer", { seconds: 600 }),
    step("lye:temp:2", "temperature", { high: 1620 }), step("lye:naoh:2", "weigh"),
  ];
  assert.deepEqual([1620, 1621].map((count) => isTooWarm(steps[3], count)), [false, true]);
  const cooling = [step("wait:0", "timer", { seconds: 300 })];
  const first = readAgain(steps, steps[3], cooling);
  assert.deepEqual(first.map(({ kind, seconds, high }) => [kind, seconds ?? high]), [["timer", 300], ["temperature", 1620]]);
  const decided = (n, about, added) => ({ id: `d${n}`, at: `2026-11-25T10:0${n}:00.000Z`, kind: "decided", step: about, choice: WAIT_AGAIN, steps: added, replaced: {} });
  const read = (n, key) => ({ id: `c${n}`, at: `2026-11-25T10:0${n}:00.000Z`, kind: "checked", step: key, reading: "180", unit: "degF" });
  const once = foldFill(steps, [read(1, "lye:temp:2"), decided(1, "lye:temp:2", first)]);
  const second = readAgain(once.steps, first[1], cooling);
  const twice = foldFill(steps, [read(1, "lye:temp:2"), decided(1, "lye:temp:2", first), read(2, first[1].key), decided(2, first[1].key, second)]);
  assert.deepEqual(twice.steps.slice(3).map(({ kind }) => kind), ["temperature", "timer", "temperature", "timer", "temperature", "weigh"]);
  assert.equal(new Set(twice.steps.map(({ key }) => key)).size, twice.steps.length);
  // Planned before there was a wait of its own: that of its portions; of none, the reading alone.
  assert.equal(readAgain(steps, steps[0], [])[0].seconds, 600);
  assert.deepEqual(readAgain(steps.slice(0, 2), steps[0], []).map(({ kind }) => kind), ["temperature"]);
});

const TOLD = JSON.parse(readFileSync(new URL("../../fixtures/stories/fill.json", import.meta.url), "utf8"));

/** The steps that a decision put in, by their keys: a wait, or the same question anew. */
const putIn = (key) => (key.startsWith("wait:") ? { key, kind: "timer", seconds: 300 } : { ...TOLD.steps.find((each) => key.startsWith(`${each.key}:`)), key });

const toldOf = (events) =>
  [...TOLD.begun, ...events].map(([kind, fields], n) => {
    const number = String(n + 1).padStart(2, "0");
    const at = `2026-11-25T08:00:${number}.000Z`;
    return { id: `e${number}`, at, local: "2026-11-25T08:00:" + number + "+00:00", kind, person: "Q", ...(kind === "decided" ? { replaced: {} } : {}), ...fields, ...(fields.steps ? { steps: fields.steps.map(putIn) } : {}) };
  });

for (const { name, events, expected } of TOLD.stories) {
  test(`how warm it was: ${name}`, () => {
    for (const told of [toldOf(events), toldOf(events).reverse()]) {
      const fold = foldFill(TOLD.steps, told);
      assert.deepEqual(gates(fold, told).map(({ step, warmth, inside, choice }) => [step.key, warmth, inside, choice]), expected.gates);
      assert.equal(openGate(fold, told)?.key ?? null, expected.open);
      assert.equal(fold.steps[fold.index].key, expected.current);
      if (expected.steps) assert.deepEqual(fold.steps.map(({ key }) => key).slice(4), expected.steps);
    }
  });
}

test("unread lye waits from the portion before, for the time that its step was frozen with, and no shorter", () => {
  const left = (events, key, seconds) => {
    const told = toldOf(events);
    const fold = foldFill(TOLD.steps, told);
    return leftUnread(fold, told, fold.steps.find((each) => each.key === key), Date.parse("2026-11-25T08:00:04.000Z") + 1000 * seconds);
  };
  // The portion before went in at 08:00:04; of its 4920 s so many are left.
  assert.equal(left([], "lye:temp:2", 20), 4900);
  assert.equal(left([], "lye:temp:2", 5000), -80);
  // Asked for anew it counts from the same portion, and not from the question.
  const waited = TOLD.stories.at(-1).events.slice(0, 3);
  assert.equal(left(waited, "lye:temp:2:1", 4919), 1);
  // By a clock that was set back, or far forward, nothing is counted.
  assert.equal(left([], "lye:temp:2", -60), null);
  assert.equal(left([], "lye:temp:2", 4 * 24 * 3600), null);
  // Frozen without a time, none holds; nor behind a portion that went in too warm, unread, or corrected to too warm since.
  const cool = [["checked", { step: "lye:temp:2", reading: "60", unit: "degC" }]];
  const inside = [["weighed", { step: "lye:naoh:2", reading: "3.98", unit: "kg" }], ["checked", { step: "lye:in:lye:naoh:2" }]];
  assert.equal(left([...cool, ...inside], "lye:temp:3", 20), null);
  const timed = TOLD.steps.map((each) => (each.key === "lye:temp:3" ? { ...each, seconds: 600 } : each));
  const third = (events) => {
    const told = toldOf(events);
    const fold = foldFill(timed, told);
    return leftUnread(fold, told, fold.steps.find(({ key }) => key === "lye:temp:3"), Date.parse(told.find(({ step: about }) => about === "lye:in:lye:naoh:2").at) + 60_000);
  };
  assert.equal(third([...cool, ...inside]), 540);
  assert.equal(third([["checked", { step: "lye:temp:2", note: "by-clock" }], ...inside]), 540);
  for (const first of [
    [["checked", { step: "lye:temp:2", reading: "70", unit: "degC" }], ["decided", { step: "lye:temp:2", choice: "too-warm", steps: [] }]],
    [["checked", { step: "lye:temp:2", note: "not-read" }], ["decided", { step: "lye:temp:2", choice: "unread", steps: [] }]],
    [["checked", { step: "lye:temp:2", note: "not-read" }]],
  ]) assert.equal(third([...first, ...inside]), null);
  assert.equal(third([...cool, ...inside, ["corrected", { corrects: "e06", reading: "70", unit: "degC" }]]), null);
});

test("unread, what is left of its time comes behind it, and then the same question anew", () => {
  const cooling = [{ key: "wait:0", kind: "timer", seconds: 300 }, { key: "wait:unread", kind: "timer", seconds: 300 }];
  const temp = TOLD.steps[5];
  assert.deepEqual(readLater(TOLD.steps, temp, cooling, 4899.2).map(({ key, kind, seconds }) => [key, kind, seconds]), [
    ["wait:lye:temp:2:1", "timer", 4900], ["lye:temp:2:1", "temperature", 4920],
  ]);
  // Too warm, it is the other wait; a fill planned before there was one for unread lye has the question alone.
  assert.equal(readAgain(TOLD.steps, temp, cooling)[0].seconds, 300);
  assert.deepEqual(readLater(TOLD.steps, temp, cooling.slice(0, 1), 60).map(({ kind }) => kind), ["temperature"]);
});
