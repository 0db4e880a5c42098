import assert from "node:assert/strict";
import { test } from "node:test";

import { closedAfter, countedFrom, upkeepOf, upkeepThatTells } from "../../../site/static/js/rules/upkeep.mjs";

let n = 0;
const event = (kind, local, fields = {}) => ({ id: `e${++n}`, at: `${local}.000Z`, local: `${local}+00:00`, kind, subject: "upkeep_log:wires", person: "Q", ...fields });
const done = (local, fields) => event("upkeep_done", local, fields);
const wires = (values) => [{ id: "wires", values: { name: "Wires", ...values } }];
/** By the clock on the wall, to the second; of a day that was named from the next one on. */
const isAfter = (local, since) => local.slice(0, since.length === 10 ? 10 : 19) > since.slice(0, 19);
const counted = (closed) => (since) => closed.filter((local) => isAfter(local, since)).length;
const one = (values, log, closed, today) => upkeepOf(wires(values), log, counted(closed), today)[0];

test("by days: in time on its last day, over from the next one on; the days counted by hand", () => {
  const values = { every_days: "7" };
  const log = [done("2026-11-20T09:00:00")];
  assert.equal(one(values, log, [], "2026-11-26").state, "later");
  assert.equal(one(values, log, [], "2026-11-27").state, "due");
  assert.equal(one(values, log, [], "2026-11-28").state, "over");
  assert.equal(one(values, log, [], "2026-11-28").day, "2026-11-27");
});

test("by blocks closed since, not before, and of a day that was named from the next one on", () => {
  const closed = ["2026-11-20T08:59:59+00:00", "2026-11-20T09:00:01+00:00", "2026-11-21T10:00:00+00:00"];
  const done20 = [done("2026-11-20T09:00:00")];
  assert.deepEqual([3, 2, 1].map((every) => one({ every_blocks: String(every) }, done20, closed, "2026-11-22").state), ["later", "due", "over"]);
  assert.equal(one({ every_blocks: "3" }, done20, closed, "2026-11-22").made, 2);
  assert.equal(one({ every_blocks: "3", counts_from: "2026-11-20" }, [], closed, "2026-11-22").made, 1);
  // What was recorded later than the day that was named counts, and the other way round.
  assert.equal(one({ every_blocks: "3", counts_from: "2026-11-19" }, done20, closed, "2026-11-22").made, 2);
  assert.equal(one({ every_blocks: "3", counts_from: "2026-11-21" }, done20, closed, "2026-11-22").made, 0);
});

test("a day that is still to come was named by a slip, and counts for nothing", () => {
  const values = { every_days: "7", every_blocks: "3", counts_from: "2027-12-01" };
  assert.deepEqual(one(values, [done("2026-11-20T09:00:00")], [], "2026-11-26").day, "2026-11-27");
  assert.equal(one(values, [], [], "2026-11-26").state, "due");
  assert.deepEqual(countedFrom(wires(values), [done("2026-11-20T09:00:00")], "2026-11-26"), ["2026-11-20T09:00:00+00:00"]);
});

test("with days and blocks, whichever comes first counts", () => {
  const values = { every_days: "7", every_blocks: "1" };
  assert.equal(one(values, [done("2026-11-20T09:00:00")], ["2026-11-20T10:00:00+00:00"], "2026-11-21").state, "due");
  assert.equal(one(values, [done("2026-11-20T09:00:00")], [], "2026-11-28").state, "over");
});

test("what was found stays open over later rounds until it is said to be mended", () => {
  const values = { every_days: "7" };
  const found = done("2026-11-20T09:00:00", { found: "guard loose" });
  const again = done("2026-11-21T09:00:00");
  assert.deepEqual(one(values, [found, again], [], "2026-11-21").faults, [found]);
  assert.equal(one(values, [found, again], [], "2026-11-21").state, "fault");
  const mended = event("upkeep_mended", "2026-11-22T09:00:00", { mends: found.id });
  assert.equal(one(values, [found, again, mended], [], "2026-11-22").state, "later");
  // That it was mended, taken back: open again.
  const back = event("upkeep_taken_back", "2026-11-22T09:05:00", { takes: mended.id });
  assert.equal(one(values, [found, again, mended, back], [], "2026-11-22").state, "fault");
});

test("what was taken back counts for nothing, in whatever order it came", () => {
  const first = done("2026-11-01T09:00:00");
  const wrong = done("2026-11-20T09:00:00", { found: "not at all" });
  const back = event("upkeep_taken_back", "2026-11-20T09:01:00", { takes: wrong.id });
  for (const log of [[first, wrong, back], [back, wrong, first]]) {
    const task = one({ every_days: "7" }, log, [], "2026-11-20");
    assert.deepEqual([task.last, task.state, task.faults], ["2026-11-01", "over", []]);
  }
});

test("nothing is kept where nothing was added, and one never done is due", () => {
  assert.deepEqual(upkeepOf([], [done("2026-11-20T09:00:00")], counted([]), "2027-11-20"), []);
  assert.equal(one({ every_days: "30" }, [], [], "2026-11-20").state, "due");
});

test("the most pressing stands first", () => {
  const items = ["a", "b", "c", "d", "e"].map((id) => ({ id, values: { every_days: "7" } }));
  const of = (id, local, fields) => done(local, { subject: `upkeep_log:${id}`, ...fields });
  const log = [of("a", "2026-11-20T09:00:00"), of("b", "2026-11-13T09:00:00"), of("c", "2026-11-12T09:00:00"), of("d", "2026-11-20T09:00:00", { found: "x" }), of("e", "2026-11-10T09:00:00")];
  assert.deepEqual(upkeepOf(items, log, counted([]), "2026-11-20").map(({ id }) => id), ["d", "e", "c", "b", "a"]);
});

test("what is counted later than a moment or a day sorts behind one text, and nothing else does", () => {
  const moments = ["2026-11-19T23:59:59", "2026-11-20T00:00:00", "2026-11-20T09:00:00", "2026-11-20T09:00:01", "2026-11-20T23:59:59", "2026-11-21T00:00:00"];
  for (const since of ["", "2026-11-20", "2026-11-20T09:00:00+00:00", "2026-11-20T09:00:00"]) {
    assert.deepEqual(moments.filter((each) => each > closedAfter(since)), moments.filter((each) => isAfter(`${each}+00:00`, since)), since);
  }
  assert.deepEqual(countedFrom([...wires({ every_blocks: "3" }), { id: "oil", values: { every_days: "7" } }], [done("2026-11-20T09:00:00")], "2026-11-25"), ["2026-11-20T09:00:00+00:00"]);
});

test("of a long log the newest entries, the last time it was done and open faults tell as much as all of it", () => {
  const found = done("2026-01-01T09:00:00", { found: "guard loose" });
  const mended = done("2026-01-02T09:00:00", { found: "wire slack" });
  const wrong = done("2026-12-01T09:00:00");
  const log = [
    found, mended, ...Array.from({ length: 40 }, (_, n) => done(`2026-02-${String((n % 28) + 1).padStart(2, "0")}T09:00:00`)), done("2026-03-01T09:00:00"),
    ...Array.from({ length: 9 }, (_, n) => event("upkeep_mended", `2026-04-0${n + 1}T09:00:00`, { mends: mended.id })), wrong, event("upkeep_taken_back", "2026-12-02T09:00:00", { takes: wrong.id }),
  ].sort((a, b) => (a.at < b.at ? -1 : 1));
  const told = upkeepThatTells(log);
  assert.ok(told.length < 9, "bounded");
  const [all, some] = [log, told].map((events) => one({ every_days: "7", every_blocks: "2" }, events, ["2026-03-02T09:00:00+00:00"], "2026-12-03"));
  assert.deepEqual({ ...some, log: some.log.slice(0, 5) }, { ...all, log: all.log.slice(0, 5) });
});
