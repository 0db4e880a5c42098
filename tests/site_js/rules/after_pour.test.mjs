/** A block after the pour: when it is due, and in which order several are worked. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { afterOf, deedOf, frameThatHolds, goesOn, inMould, inOrderOfWork, pouredAt, unmouldFrom } from "../../../site/static/js/rules/after_pour.mjs";

const HOUR = 3_600_000;
const POURED = Date.parse("2026-11-24T12:00:00Z");
// Common practice, no source: three of one's own make a habit.
const LEAST = 3;
const STEPS = [
  ["after:cover", "cover"], ["after:gel", "gel", 4 * 3600], ["after:lift", "lift", 24 * 3600], ["after:demould", "confirm"],
  ["after:loaves", "confirm"], ["after:skim", "confirm"], ["after:frame", "confirm"], ["after:bars", "confirm"],
  ["after:good", "measure"], ["after:rack", "rack"],
].map(([key, kind, seconds = null]) => ({ key, kind, seconds }));
const COMPLETES = { cover: "covered", gel: "gelled", lift: "lifted", confirm: "checked", measure: "measured", rack: "racked" };

let n = 0;
const event = (kind, at, fields = {}) => {
  const instant = new Date(at).toISOString();
  n += 1;
  return { id: `e${String(n).padStart(4, "0")}`, kind, at: instant, local: instant, ...fields };
};

/** A block poured `late` hours after the first, done up to a step. */
function block(number, until = "after:cover", { late = 0, outcome = "poured", after = STEPS } = {}) {
  const at = POURED + late * HOUR;
  const events = [event("checked", at, { step: "pour" }), event("closed", at + 1000, { outcome })];
  for (const step of after ?? []) {
    if (step.key === until) break;
    events.push(event(COMPLETES[step.kind], at + 24 * HOUR, { step: step.key, ...(step.key === "after:cover" ? { cover: "lid" } : {}) }));
  }
  return { subject: `block:QM-1/${number}`, issued: { after, formula: { name: "Marsh" }, mould: { name: "Big" } }, events };
}

const deeds = (blocks, now, lifted = []) =>
  inOrderOfWork(blocks.flatMap((each) => deedOf(each, lifted, LEAST) ?? []), now).map(({ block: { subject }, step }) => `${subject.at(-1)} ${step.key.slice(6)}`);

test("a block goes on where it was poured and closed by a sheet that has this part", () => {
  assert.equal(goesOn(block(1)), true);
  assert.equal(goesOn(block(1, "", { outcome: "quarantined" })), false);
  assert.equal(goesOn(block(1, "", { after: null })), false);
  assert.equal(goesOn({ ...block(1), events: [] }), false);
  assert.equal(deedOf(block(1, "", { after: null }), [], LEAST), null);
});

test("the clock starts at the pour: gel and mould are due by it, the rest once what comes before is done", () => {
  assert.equal(pouredAt(block(1).events), POURED);
  assert.equal(deedOf(block(1), [], LEAST).at, POURED);
  assert.equal(deedOf(block(1, "after:gel"), [], LEAST).at, POURED + 4 * HOUR);
  assert.equal(deedOf(block(1, "after:lift"), [], LEAST).at, POURED + 24 * HOUR);
  assert.equal(deedOf(block(1, "after:bars"), [], LEAST).at, POURED + 24 * HOUR);
  assert.equal(deedOf(block(1, "none"), [], LEAST), null);
});

test("a block that was ended before the rack has nothing due", () => {
  const ended = block(1, "after:lift");
  ended.events.push(event("ended", POURED + 5 * HOUR, { reason: "Trial" }));
  assert.equal(deedOf(ended, [], LEAST), null);
});

const lifted = (hours, fields = {}) =>
  event("lifted", POURED, { seconds: hours * 3600, of_formula: "Marsh", in_mould: "Big", cover: "lid", ...fields });
const LIKE = { formula: "Marsh", mould: "Big", cover: "lid" };

test("from three blocks of one's own on, it is their middle; other formulas, moulds and covers count for nothing", () => {
  const usual = 24 * 3600;
  assert.deepEqual(inMould([lifted(20), lifted(30)], LIKE, usual, LEAST), { seconds: usual, own: 0, low: 0, high: 0 });
  const others = [lifted(90, { of_formula: "Reed" }), lifted(90, { in_mould: "Half" }), lifted(90, { cover: "none" })];
  assert.equal(inMould([lifted(20), lifted(30), ...others], LIKE, usual, LEAST).own, 0);
  // By hand: 18, 20, 31 h have their middle at 20 h; with 26 h it lies halfway from 20 to 26.
  const three = [lifted(31), lifted(18), lifted(20), ...others];
  assert.deepEqual(inMould(three, LIKE, usual, LEAST), { seconds: 20 * 3600, own: 3, low: 18 * 3600, high: 31 * 3600 });
  assert.equal(inMould([...three, lifted(26)], LIKE, usual, LEAST).seconds, 23 * 3600);
  assert.equal(inMould([...three, ...three], LIKE, usual, LEAST).own, 3, "told twice, counted once");
  const waits = block(1, "after:lift");
  assert.equal(unmouldFrom(waits, afterOf(waits), three, LEAST).at, POURED + 20 * HOUR);
});

test("all loaves first, then all bars, each block by block; a stage that is begun is ended first", () => {
  const now = POURED + 30 * HOUR;
  const three = (...until) => until.map((key, at) => block(at + 1, key, { late: at }));
  assert.deepEqual(deeds(three("after:lift", "after:lift", "after:lift"), now), ["1 lift", "2 lift", "3 lift"]);
  assert.deepEqual(deeds(three("after:frame", "after:lift", "after:lift"), now), ["2 lift", "3 lift", "1 frame"]);
  assert.deepEqual(deeds(three("after:frame", "after:lift", "after:loaves"), now), ["3 loaves", "2 lift", "1 frame"]);
  assert.deepEqual(deeds(three("after:frame", "after:good", "after:frame"), now), ["2 good", "1 frame", "3 frame"]);
});

test("a block whose time has not come holds nobody up, and comes last", () => {
  const now = POURED + 25 * HOUR;
  const blocks = [block(1, "after:frame"), block(2, "after:lift", { late: 8 }), block(3, "after:gel", { late: 24 })];
  assert.deepEqual(deeds(blocks, now), ["1 frame", "3 gel", "2 lift"]);
});

test("a frame that was checked holds for the day until loaves are cut again", () => {
  const [frame, loaves] = ["after:frame", "after:loaves"].map((step) => (hours) => event("checked", POURED + hours * HOUR, { step }));
  const sameDay = () => true;
  assert.equal(frameThatHolds([], sameDay), null);
  const held = frame(2);
  assert.equal(frameThatHolds([loaves(1), held], sameDay)?.id, held.id);
  assert.equal(frameThatHolds([held, loaves(3)], sameDay), null);
  assert.equal(frameThatHolds([held], () => false), null);
});
