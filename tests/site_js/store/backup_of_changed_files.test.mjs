import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { beforeEach, test } from "node:test";
import { canonical } from "../../../site/static/js/rules/canonical.mjs";
import { CopyChanged, eventsIn, readCopy } from "../../../site/static/js/store/backup.mjs";
import { append, IdTaken, merge, newEvent, Unfit } from "../../../site/static/js/store/events.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";

beforeEach(freshDatabase);

const saved = (name, fields = {}) => ({ ...newEvent("saved", "formula:f-1", { values: { name }, revision: 1 }), ...fields });
const copyOf = (events) => canonical({ format: "tarewell-records", version: 1, events, sha256: createHash("sha256").update(canonical(events)).digest("hex") });

/** A file that stands for what lies somewhere now: a sync service may put another one in its place. @param {string} text */
const fileOf = (text) => ({
  now: new Blob([text]),
  get size() {
    return this.now.size;
  },
  slice(...range) {
    return this.now.slice(...range);
  },
});

const gone = {
  size: 400,
  slice: () => ({ arrayBuffer: () => Promise.reject(new DOMException("it has changed", "NotReadableError")) }),
};

const one = saved("Reed");
const deep = JSON.parse(`${"[".repeat(60)}${"]".repeat(60)}`);
const CHANGED = {
  "another copy": copyOf([saved("Marsh")]),
  "a copy with one more": copyOf([one, saved("Marsh")]),
  "a copy with fewer": copyOf([]),
  "other words under the same id": copyOf([{ ...one, values: { name: "Forged" } }]),
  "markup that no formula holds": copyOf([{ ...one, html: "<b>" }]),
  "no event": copyOf([null]),
  "something deep": copyOf([{ ...one, values: deep }]),
  "half of it": copyOf([one]).slice(0, 80),
  "no copy": "Shopping list",
  "nothing any more": gone,
};

for (const [what, then] of Object.entries(CHANGED)) {
  test(`a copy that is changed between the look and the tap is not taken in: ${what}`, async () => {
    await append(saved("Sedge"));
    const before = await allEvents();
    const file = fileOf(copyOf([one]));
    const read = await readCopy(file);
    assert.equal(read.events.length, 1);
    file.now = typeof then === "string" ? new Blob([then]) : then;
    await assert.rejects(merge(() => eventsIn(file, read.sha256)), (error) => error instanceof CopyChanged || error instanceof Unfit);
    assert.deepEqual(await allEvents(), before);
  });
}

test("a copy that is still the same is taken in, whatever was put down otherwise around its records", async () => {
  const file = fileOf(copyOf([one]));
  const read = await readCopy(file);
  file.now = new Blob([JSON.stringify(JSON.parse(copyOf([one])), null, 2)]);
  assert.equal(await merge(() => eventsIn(file, read.sha256)), 1);
  assert.deepEqual(await allEvents(), [one]);
  await assert.rejects(merge([{ ...one, values: { name: "Forged" } }]), IdTaken);
});
