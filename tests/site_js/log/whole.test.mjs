import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { wholeLog } from "../../../site/static/js/log/whole.mjs";
import { merge, newEvent } from "../../../site/static/js/store/events.mjs";
import { allLog } from "../../../site/static/js/store/log.mjs";
import { freshDatabase } from "../database_for_tests.mjs";

// A page without the bar.
globalThis.document ??= { querySelector: () => null };

beforeEach(freshDatabase);

const issued = (code) => newEvent("issued", `batch:${code}`, { code, html: "", blocks: 1, formula: { event: "f", name: "Plain" }, pours: [] });
const codes = (log) => log.map(({ code }) => code).sort();

test("a log that is still to be made never passes for an empty one", async () => {
  await merge([issued("QM-1"), issued("QM-2")]);
  assert.equal(await allLog(), null);
  assert.deepEqual(codes(await wholeLog()), ["QM-1", "QM-2"]);
  assert.deepEqual(codes(await wholeLog()), ["QM-1", "QM-2"]);
});

test("what comes in from another phone meanwhile leaves no empty log, and is in the next one", async () => {
  await merge([issued("QM-1")]);
  const told = [];
  let coming;
  const log = await wholeLog((share) => {
    told.push(share);
    if (share === 0) coming ??= merge([issued("QM-2")]);
  });
  await coming;
  assert.ok(log.length > 0);
  assert.equal(told.at(-1), null);
  assert.deepEqual(codes(await wholeLog()), ["QM-1", "QM-2"]);
});

test("without a batch it is empty", async () => {
  assert.deepEqual(await wholeLog(), []);
});
