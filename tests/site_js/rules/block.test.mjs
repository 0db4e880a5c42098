/** What the stories of block_of_stories.test.mjs do not tell: events kept beside the first, blocks by chance, and subjects. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { blockEntry, blockOf, blockSubject, foldBlock } from "../../../site/static/js/rules/block.mjs";

const step = (key, kind = "confirm") => ({ key, kind });
const STEPS = [step("check"), step("temp", "temperature"), step("oil", "weigh"), step("lye", "weigh"), step("mix", "timer"), step("pour")];

let second = 0;
/** An event a second after the one made before. */
function event(kind, fields = {}) {
  second += 1;
  const at = `2026-11-25T08:00:${String(second).padStart(2, "0")}.000Z`;
  return { id: `e${second}`, at, local: at, kind, subject: "block:QM-1/1", person: "P", ...fields };
}

const CHECKED = event("checked", { step: "check" });
const TEMPERATURE = event("checked", { step: "temp", reading: "38.5", unit: "degC" });
const OIL = event("weighed", { step: "oil", reading: "16.34", unit: "kg" });
const CORRECTED = event("corrected", { corrects: OIL.id, reading: "16.43", unit: "kg", reason: "read wrongly" });
const MORE = { ...step("oil:more", "weigh"), title: "More" };
const DECIDED = event("decided", { step: "oil", choice: "add", steps: [MORE], replaced: { lye: { ...step("lye", "weigh"), title: "Less" } } });
const ADDED = event("weighed", { step: "oil:more", reading: "0.20", unit: "kg" });
const LYE = event("weighed", { step: "lye", reading: "6.10", unit: "kg" });
const STARTED = event("timed", { step: "mix", action: "started", seconds: 60 });
const ENDED = event("timed", { step: "mix", action: "ended", seconds: 61 });
const POURED = event("checked", { step: "pour" });
const CLOSED = event("closed", { outcome: "poured" });
const ALL = [CHECKED, TEMPERATURE, OIL, CORRECTED, DECIDED, ADDED, LYE, STARTED, ENDED, POURED, CLOSED];

const keys = ({ steps }) => steps.map(({ key }) => key);

/** Numbers from 0 to 1, the same ones each time (mulberry32, from memory). */
function random(seed) {
  return () => {
    seed = (seed + 0x6d2b79f5) | 0;
    let t = Math.imul(seed ^ (seed >>> 15), 1 | seed);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** @param {() => number} next */
function shuffled(list, next) {
  const left = [...list];
  return list.map(() => left.splice(Math.floor(next() * left.length), 1)[0]);
}

test("a step done on two phones: the first by instant, then id, counts and the other is kept beside it", () => {
  const other = { ...OIL, id: "e0", reading: "15.00" };
  const later = { ...OIL, id: "e9", at: LYE.at, reading: "17.00" };
  for (const events of [[OIL, other, later], [later, other, OIL]]) {
    const fold = foldBlock(STEPS, events);
    assert.equal(fold.done.get("oil"), other);
    assert.deepEqual(fold.again.get("oil"), [OIL, later]);
  }
});

test("in whatever order and however often the events come, the block is the same", () => {
  const expected = foldBlock(STEPS, ALL);
  const next = random(3);
  for (let run = 0; run < 300; run += 1) {
    const doubled = [...ALL, ...shuffled(ALL, next).slice(0, 4)];
    assert.deepEqual(foldBlock(STEPS, shuffled(doubled, next)), expected);
  }
});

test("whatever the events hold, there is an answer, and nothing given is changed", () => {
  const next = random(4);
  const one = (list) => list[Math.floor(next() * list.length)];
  const names = ["check", "oil", "lye", "mix", "oil:more", "gone", "__proto__", "constructor", undefined];
  const kinds = ["weighed", "checked", "timed", "corrected", "decided", "closed", "lots", "saved", "made up"];
  const frozen = JSON.stringify(STEPS);
  for (let run = 0; run < 500; run += 1) {
    const events = Array.from({ length: 12 }, (_, n) =>
      Object.freeze({
        id: `r${Math.floor(next() * 9)}${n}`, at: one(ALL).at, kind: one(kinds), subject: "block:QM-1/1", step: one(names),
        action: one(["started", "ended", undefined]), corrects: one(["r1", "r2", undefined]),
        steps: one([[MORE], [], null, undefined]), replaced: one([{ lye: MORE }, {}, null, undefined]),
      }));
    const fold = foldBlock(STEPS, Object.freeze(events));
    assert.ok(fold.index >= 0 && fold.index <= fold.steps.length);
    for (const key of fold.done.keys()) assert.ok(keys(fold).includes(key));
  }
  assert.equal(JSON.stringify(STEPS), frozen);
});

test("a block's subject says which batch and block it is, also when the code holds a slash", () => {
  for (const [code, block] of [["QM-261125-1", 2], ["A/B", 12]]) {
    assert.deepEqual(blockOf(blockSubject(code, block)), [code, block]);
  }
  assert.deepEqual(blockEntry(OIL), { subject: "block:QM-1/1", code: "QM-1", block: 1, at: OIL.at });
});
