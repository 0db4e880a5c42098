/**
 * Copies that the app handed out in the past are taken in for ever, whole and unchanged. They are what a maker has on a
 * stick: no test here may be mended by making a copy, or the state beside it, anew.
 */
import assert from "node:assert/strict";
import { readdirSync } from "node:fs";
import { test } from "node:test";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { copiedAgain, shownOf, stateOf, takenIn, textOf } from "../copy_states.mjs";

const NAMES = readdirSync(new URL("../../fixtures/copies/", import.meta.url))
  .filter((name) => name.endsWith(".json.gz")).map((name) => name.replace(".json.gz", ""));

/** The kinds that there were when the first copies were made. A later kind is kept by a copy of its own. */
const KINDS = [
  "saved", "removed", "settings", "demo_cleared", "issued",
  "weighed", "checked", "timed", "corrected", "decided", "closed", "lots", "trained",
  "walk_begun", "walk_answered", "walk_taken_back", "walk_cleared", "walk_signed", "walk_closed", "eyewash_checked",
];
const ITEMS = [
  "shop", "mould", "cutter", "vessel", "scale", "floor", "safety", "alkali_lot", "oil_lot", "scent", "scent_lot", "own_oil",
  "person", "formula",
];

test("every kind of event and of item is in a kept copy", () => {
  const events = NAMES.flatMap((name) => JSON.parse(textOf(name)).events);
  assert.deepEqual(KINDS.filter((kind) => !events.some((event) => event.kind === kind)), []);
  const saved = new Set(events.filter(({ kind }) => kind === "saved").map(({ subject }) => subject.split(":")[0]));
  assert.deepEqual(ITEMS.filter((item) => !saved.has(item)), []);
});

for (const name of NAMES) {
  test(`the kept copy "${name}" comes in whole, each event as it stands in the file, byte for byte, and shows what it showed`, async () => {
    const text = textOf(name);
    const stored = await takenIn(text);
    // By the JSON parser of Node: nothing of our own reading is in it.
    const { events } = JSON.parse(text);
    assert.deepEqual(stored.map(({ id }) => id).sort(), events.map((/** @type {{id: string}} */ { id }) => id).sort());
    for (const event of stored) assert.ok(text.includes(canonical(event)), `${event.kind} ${event.id}`);
    assert.equal(await copiedAgain(), text);
    // Frozen when the copy was made.
    assert.deepEqual(await shownOf(stored), stateOf(name));
  });
}
