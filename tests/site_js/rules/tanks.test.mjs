/** Tanks told by their events, in stories that Python's fold is asked too (tests/calc/tanks/test_fold.py). */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { TANK_KINDS } from "../../../site/static/js/rules/kinds.mjs";
import { foldWorkshop } from "../../../site/static/js/rules/fold.mjs";
import { drawnFrom, filledTanks } from "../../../site/static/js/rules/tanks.mjs";

const TOLD = JSON.parse(readFileSync(new URL("../../fixtures/stories/tanks.json", import.meta.url), "utf8"));

const eventsOf = ({ events }) =>
  events.map(([kind, subject, fields], n) => {
    const number = String(n + 1).padStart(2, "0");
    const at = `2026-11-25T08:00:${number}.000Z`;
    return { id: `e${number}`, at, local: at, kind, subject, person: "Q", ...fields };
  });

for (const story of TOLD.stories) {
  test(story.name, () => {
    const events = eventsOf(story);
    const filled = filledTanks(events.filter(({ kind }) => TANK_KINDS.includes(kind)));
    assert.deepEqual(Object.fromEntries([...filled].map(([tank, { lot }]) => [tank, lot])), story.expected.filled);
    const drawn = drawnFrom(filled, events.filter(({ kind }) => !TANK_KINDS.includes(kind)));
    assert.deepEqual(drawn.map(({ id }) => id).sort(), story.expected.drawn);
  });
}

test("what is in the tanks of the invented workshop is under practice alone", () => {
  const demo = { units: "metric", contents: [{ id: "demo-t0", kind: "tank_loaded", subject: "contents:t-lye" }] };
  assert.equal(foldWorkshop(demo, []).contents.length, 1);
  assert.equal(foldWorkshop({ units: "metric" }, []).contents, undefined);
});

test("of a block that nobody tares for every weighing is needed: each display goes on from the one before", () => {
  const filled = new Map([["t-lye", { since: "", lots: ["LYE-1"], lot: "LYE-1" }]]);
  const of = (id, step, lot, mode) => ({ id, kind: "weighed", at: id, subject: "block:QM-1/1", step, lot, mode });
  const events = [of("1", "oil:0", "O-1", "gross"), of("2", "lye:naoh", "LYE-1", "gross")];
  assert.deepEqual(drawnFrom(filled, events).map(({ id }) => id).sort(), ["1", "2"]);
});
