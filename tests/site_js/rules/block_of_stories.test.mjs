/** Blocks told by their events, in stories that Python's fold is asked too (tests/calc/block/test_events.py). */
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { foldAfter, foldBlock, standingDecisions } from "../../../site/static/js/rules/block.mjs";
import { inOrder } from "../../../site/static/js/rules/fold.mjs";
import { counting, lotsOf } from "../../../site/static/js/rules/readings.mjs";
import { pendingKey, startOf } from "../../../site/static/js/scale/view.mjs";

const TOLD = JSON.parse(readFileSync(new URL("../../fixtures/stories/block.json", import.meta.url), "utf8"));

/** The events of a story as the store would hold them. */
const eventsOf = ({ events }) =>
  events.map(([kind, fields], n) => {
    const number = String(n + 1).padStart(2, "0");
    const at = `2026-11-25T08:00:${number}.000Z`;
    const event = { id: `e${number}`, at, local: at, kind, subject: "block:QM-1/1", person: "Q", ...fields };
    return fields.asked ? { ...event, asked: TOLD.shapes[fields.asked] } : event;
  });

/** All that a story may expect of a block. */
function state(unordered) {
  const fold = foldBlock(TOLD.steps, unordered);
  const events = inOrder(unordered);
  const of = (list) => Object.fromEntries(list);
  return {
    steps: fold.steps.map(({ key }) => key),
    targets: of(fold.steps.filter(({ target }) => target !== undefined).map(({ key, target }) => [key, target])),
    done: of([...fold.done].map(([key, { id }]) => [key, id])),
    read: of(fold.steps.filter(({ key, kind }) => fold.done.has(key) && ["weigh", "temperature"].includes(kind))
      .map(({ key }) => [key, counting(events, fold.done.get(key)).reading ?? null])),
    in_hand: fold.steps[fold.index]?.key ?? null,
    waits: pendingKey(fold, events),
    decided: standingDecisions(events).map(({ id }) => id),
    lots: lotsOf(events),
    begun: fold.steps.filter(({ key }) => startOf(events, key)).map(({ key }) => key),
    closed: fold.closed && [fold.closed.id, fold.closed.outcome],
    after: afterPour(events),
  };
}

/** What is told of the work after the pour. */
function afterPour(events) {
  const fold = foldAfter(TOLD.after, events);
  const measured = [...fold.done].filter(([, { kind }]) => kind === "measured");
  return {
    done: Object.fromEntries([...fold.done].map(([key, { id }]) => [key, id])),
    in_hand: fold.steps[fold.index]?.key ?? null,
    read: Object.fromEntries(measured.map(([key, event]) => [key, counting(events, event).reading ?? null])),
    ended: fold.ended?.id ?? null,
  };
}

/** `set_back` is Python's alone: the page shows every reading. */
function expect({ expected: { set_back: _python, ...expected } }, events, said) {
  const found = state(events);
  assert.deepEqual(Object.fromEntries(Object.keys(expected).map((part) => [part, found[part]])), expected, said);
}

for (const story of TOLD.stories) {
  test(story.name, () => {
    const events = eventsOf(story);
    expect(story, events, "as it ends");
    for (const others of [[...events].reverse(), [...events.filter((_, n) => n % 2), ...events.filter((_, n) => n % 2 === 0)], [...events, ...[...events].reverse()]]) {
      expect(story, others, "in another order, with doubles");
    }
    for (const part of ["in_hand", "waits"]) {
      const after = story[`${part}_after`];
      if (after) assert.deepEqual(events.map((_, n) => state(events.slice(0, n + 1))[part]), after, `${part} after each event`);
    }
  });
}
