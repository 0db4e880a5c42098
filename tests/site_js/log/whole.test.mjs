import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, mock, test } from "node:test";
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
  // A clock that makes each piece last as long as the page waits until it says anything.
  let now = 0;
  const clock = mock.method(performance, "now", () => (now += 1000));
  const log = await wholeLog((share) => {
    told.push(share);
    if (share === 0) coming ??= merge([issued("QM-2")]);
  });
  clock.mock.restore();
  assert.ok(coming);
  await coming;
  assert.ok(log.length > 0);
  assert.equal(told.at(-1), null);
  assert.deepEqual(codes(await wholeLog()), ["QM-1", "QM-2"]);
});

test("without a batch it is empty", async () => {
  assert.deepEqual(await wholeLog(), []);
});
