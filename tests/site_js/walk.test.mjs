import assert from "node:assert/strict";
import { test } from "node:test";

import { readCopy, writeCopy } from "../../site/static/js/store/backup.mjs";
import { covered, daysAfter, monthsAfter, trainings } from "../../site/static/js/store/training.mjs";
import { foldWalk, foldWalks } from "../../site/static/js/store/walk.mjs";

let count = 0;
const event = (kind, fields = {}) => {
  count += 1;
  const at = `2026-11-25T09:${String(Math.floor(count / 60)).padStart(2, "0")}:${String(count % 60).padStart(2, "0")}.000Z`;
  return { id: `e-${String(count).padStart(4, "0")}`, at, local: "2026-11-25T10:00:00+01:00", kind, subject: "walk:w1", ...fields };
};
const begun = () =>
  event("walk_begun", {
    helper: "R", guide: "Q", language: "es", way: "read-do", phases: ["weigh"], points: ["weigh-a", "weigh-a/teach", "weigh-b"],
  });
const yes = (point) => event("walk_answered", { point, answer: "yes" });

test("a no stops the walk until just that no is cleared, whatever else is answered", () => {
  const no = event("walk_answered", { point: "weigh-a", answer: "no" });
  const events = [begun(), no, yes("weigh-a"), yes("weigh-b")];
  events[0].at = "2026-11-25T08:00:00.000Z";
  assert.equal(foldWalk(events).stopped.id, no.id);
  const other = event("walk_cleared", { clears: "another", person: "Q", reason: "x" });
  assert.equal(foldWalk([...events, other]).stopped.id, no.id);
  const cleared = event("walk_cleared", { clears: no.id, person: "Q", reason: "opened the door" });
  assert.equal(foldWalk([...events, cleared]).stopped, null);
});

test("a cleared point is asked again: clearing answers nothing", () => {
  const first = begun();
  const no = event("walk_answered", { point: "weigh-a", answer: "no" });
  const cleared = event("walk_cleared", { clears: no.id, person: "Q", reason: "mended" });
  assert.equal(foldWalk([first, no, cleared]).index, 0);
  assert.equal(foldWalk([first, no, cleared, yes("weigh-a")]).index, 1);
});

test("order and doubles of the events change nothing", () => {
  const events = [begun(), yes("weigh-a"), event("walk_answered", { point: "weigh-a/teach", answer: "again" }), yes("weigh-a/teach")];
  const wanted = foldWalk(events);
  assert.deepEqual(foldWalk([...events].reverse().concat(events)), wanted);
  assert.equal(wanted.index, 2);
  assert.deepEqual(wanted.again.map(({ point }) => point), ["weigh-a/teach"]);
});

test("a walk whose beginning is missing is none", () => {
  assert.equal(foldWalk([yes("weigh-a")]), null);
  assert.deepEqual(foldWalks([yes("weigh-a")]), []);
});

test("training counts when it is signed, all is answered and no stop is open", () => {
  const events = [begun(), yes("weigh-a"), yes("weigh-a/teach"), yes("weigh-b")];
  const signed = event("walk_signed", { person: "R", initials: "R", path: "" });
  assert.deepEqual(trainings(events, 12), []);
  assert.deepEqual(trainings([...events.slice(0, 2), signed], 12), []);
  const [entry] = trainings([...events, signed], 12);
  assert.equal(entry.helper, "R");
  assert.equal(entry.until, "2027-11-25");
  assert.deepEqual(covered([entry], ["weigh"], "2027-11-25"), ["R"]);
  assert.deepEqual(covered([entry], ["weigh"], "2027-11-26"), []);
  assert.deepEqual(covered([entry], ["weigh", "tank"], "2026-11-25"), []);
  const late = event("walk_answered", { point: "weigh-b", answer: "no" });
  assert.deepEqual(trainings([...events, signed, late], 12), []);
});

test("months and days by the calendar", () => {
  // Counted on a calendar by hand; 2028 is a leap year.
  assert.equal(monthsAfter("2026-08-31", 1), "2026-09-30");
  assert.equal(monthsAfter("2027-02-28", 12), "2028-02-28");
  assert.equal(monthsAfter("2028-02-29", 12), "2029-02-28");
  assert.equal(monthsAfter("2026-11-25", 2), "2027-01-25");
  assert.equal(daysAfter("2026-12-28", 7), "2027-01-04");
});

test("a copy carries walks and eyewash checks whole, and refuses them misshapen", async () => {
  const first = begun();
  const no = event("walk_answered", { point: "weigh-a", answer: "no" });
  const all = [
    { ...first, own: [{ key: "own:0", phase: "weigh", what: "a", question: "b", stop: "c" }] },
    no,
    event("walk_cleared", { clears: no.id, person: "Q", reason: "mended" }),
    event("walk_signed", { person: "R", initials: "", path: "M10 20L30 40" }),
    event("eyewash_checked", { person: "Q", subject: "eyewash:weekly" }),
  ];
  const read = await readCopy(new Blob([await writeCopy(all)]));
  assert.deepEqual(read.events, all);
  const misshapen = [
    { ...no, answer: "maybe" },
    { ...all[3], path: "M10 20\"/><script>" },
    { ...all[4], subject: "eyewash:daily" },
    { ...all[0], points: [] },
    { ...no, html: "<b>" },
  ];
  for (const wrong of misshapen) {
    assert.deepEqual(await readCopy(new Blob([await writeCopy([wrong])])), { refused: "import-format" });
  }
});
