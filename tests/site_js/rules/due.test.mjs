import assert from "node:assert/strict";
import { test } from "node:test";

import { dueOf } from "../../../site/static/js/rules/due.mjs";

const TODAY = "2026-11-25";
const NOW = Date.parse("2026-11-25T10:16:00Z");
const HOUR = 3_600_000;
const held = (until) => ({ state: "held", day: "2026-11-20", until, person: "Q" });
const NO_COPY = { last: "", since: 0, every: 7 };
const STEPS = [{ key: "mix", kind: "timer", seconds: 900 }, { key: "pour", kind: "confirm" }, { key: "unmould", kind: "timer", seconds: 86_400 }];

let count = 0;
const event = (kind, at, fields = {}) => ({ id: `e${(count += 1)}`, at, local: at, kind, subject: "block:QM-1/1", ...fields });
const started = (step, at, seconds) => event("timed", at, { step, action: "started", seconds });
const ended = (step, at) => event("timed", at, { step, action: "ended", seconds: 1 });
const closed = (outcome = "poured") => event("closed", "2026-11-24T12:50:00Z", { outcome });
const block = (...events) => ({ subject: "block:QM-1/1", steps: STEPS, events });
const due = (known = {}, now = NOW) => dueOf({ stops: [], eyewash: {}, blocks: [], copies: NO_COPY, ...known }, now, TODAY);
const kinds = (found) => found.due.map(({ kind, alarm }) => `${kind}${alarm ? "!" : ""}`);

test("where nothing is due the next check or copy is told, the earlier of both", () => {
  assert.deepEqual(due(), { due: [], next: null });
  const eyewash = { weekly: held("2026-11-29"), yearly: held("2027-03-01") };
  const found = due({ eyewash, copies: { last: "2026-11-24", since: 3, every: 7 } });
  assert.deepEqual(found.due, []);
  // By the calendar: Tuesday 24 November and seven days is 1 December, two days after the eyewash.
  assert.deepEqual([found.next?.kind, found.next?.checks, found.next?.day], ["eyewash", ["weekly"], "2026-11-29"]);
});

test("a check is told on its last day and is an alarm once it no longer holds or was never done", () => {
  assert.deepEqual(kinds(due({ eyewash: { weekly: held(TODAY) } })), ["eyewash"]);
  const never = { state: "never", day: "", until: "", person: "" };
  assert.deepEqual(due({ eyewash: { weekly: never, yearly: never } }).due.map(({ checks, state }) => [checks, state]), [[["weekly", "yearly"], "never"]]);
  assert.deepEqual(kinds(due({ eyewash: { weekly: held(TODAY), yearly: held(TODAY) } })), ["eyewash", "eyewash"]);
  for (const state of ["never", "faulty", "over"]) {
    assert.deepEqual(kinds(due({ eyewash: { weekly: { ...held("2026-11-20"), state }, yearly: held("2027-03-01") } })), ["eyewash!"], state);
  }
});

test("a block in its mould is told with its instant, before and after it, and never as an alarm", () => {
  const inMould = [ended("mix", "2026-11-24T12:00:00Z"), started("unmould", "2026-11-24T12:36:00Z", 86_400)];
  for (const events of [inMould, [...inMould, closed()]]) {
    const found = due({ blocks: [block(...events)] });
    assert.deepEqual(kinds(found), ["unmould"]);
    // 24 hours after 12:36 on the 24th: 2 h 20 min from now.
    assert.equal(found.due[0].at, Date.parse("2026-11-25T12:36:00Z"));
    assert.deepEqual(kinds(due({ blocks: [block(...events)] }, NOW + 5 * HOUR)), ["unmould"]);
  }
  assert.deepEqual(kinds(due({ blocks: [block(...inMould, ended("unmould", "2026-11-25T09:00:00Z"))] })), []);
});

test("of a closed block nothing else runs, its mould is forgotten three days after the time, and a block set apart has none", () => {
  const stirring = started("mix", "2026-11-24T12:00:00Z", 900);
  assert.deepEqual(kinds(due({ blocks: [block(stirring, closed())] })), []);
  const inMould = started("unmould", "2026-11-24T12:36:00Z", 86_400);
  assert.deepEqual(kinds(due({ blocks: [block(inMould, closed("quarantined"))] })), []);
  const over = Date.parse("2026-11-25T12:36:00Z") + 72 * HOUR;
  assert.deepEqual(kinds(due({ blocks: [block(inMould, closed())] }, over)), ["unmould"]);
  assert.deepEqual(kinds(due({ blocks: [block(inMould, closed())] }, over + 1)), []);
  // A block that nobody closed waits as long as it has to.
  assert.deepEqual(kinds(due({ blocks: [block(inMould)] }, over + 1)), ["unmould"]);
});

test("a time that runs in mid-block is an alarm once it is over, by its own length or, where none was stored, by the step's", () => {
  const at = (minutes, seconds) => kinds(due({ blocks: [block(started("mix", "2026-11-25T10:00:00Z", seconds))] }, Date.parse("2026-11-25T10:00:00Z") + minutes * 60_000));
  assert.deepEqual([at(14), at(15), at(14, 600)], [["timer"], ["timer!"], ["timer!"]]);
});

test("a copy is due seven days after the last one while records have come since, and the first one after the first issued batch", () => {
  const copies = (fields) => due({ copies: { ...NO_COPY, ...fields } });
  assert.deepEqual(kinds(copies({ last: "2026-11-17", since: 2 })), ["copy!"]);
  assert.deepEqual(kinds(copies({ last: "2026-11-18", since: 2 })), ["copy"]);
  assert.equal(copies({ last: "2026-11-19", since: 2 }).next?.day, "2026-11-26");
  assert.deepEqual(copies({ last: "2026-11-01", since: 0 }), { due: [], next: null });
  assert.deepEqual(kinds(copies({ since: 4 })), []);
  assert.deepEqual(kinds(copies({ since: 4, first: "2026-11-17" })), ["copy!"]);
  assert.deepEqual(kinds(copies({ since: 4, first: "2026-11-18" })), ["copy"]);
  // On the day of the first record nothing is overdue.
  assert.deepEqual(kinds(copies({ since: 4, first: TODAY })), []);
  assert.equal(copies({ since: 4, first: TODAY }).next?.day, "2026-12-02");
});

test("what bars the lye comes first, then what runs by its time, then copies", () => {
  const stops = [{ subject: "walk:w1", helper: "R", phases: ["weigh"], lasts: "", place: "" }];
  const later = { ...block(started("unmould", "2026-11-25T09:00:00Z", 86_400)), subject: "block:QM-2/1" };
  const sooner = block(started("unmould", "2026-11-24T12:36:00Z", 86_400));
  const found = due({
    stops, blocks: [later, sooner], copies: { last: "2026-11-01", since: 1, every: 7 },
    eyewash: { weekly: { ...held("2026-11-20"), state: "over" }, yearly: held(TODAY) },
  });
  assert.deepEqual(kinds(found), ["stop!", "eyewash!", "unmould", "unmould", "copy!", "eyewash"]);
  assert.deepEqual(found.due.filter(({ kind }) => kind === "unmould").map(({ about }) => about), ["block:QM-1/1", "block:QM-2/1"]);
});

test("what is next after a pour is told in the order given, is no alarm, and falls away three days after its time", () => {
  const after = [["block:QM-1/2", "after:lift", NOW - HOUR], ["block:QM-1/1", "after:frame", NOW + HOUR]].map(([subject, step, at]) => ({ subject, step, at }));
  const found = due({ after, blocks: [block(started("mix", "2026-11-25T10:00:00Z", 900))] });
  assert.deepEqual(kinds(found), ["timer!", "after", "after"]);
  assert.deepEqual(found.due.slice(1).map(({ about, step }) => [about, step]), [["block:QM-1/2", "after:lift"], ["block:QM-1/1", "after:frame"]]);
  // As with the time in the mould.
  assert.deepEqual(kinds(due({ after }, NOW + 72 * HOUR)), ["after"]);
});

test("a batch on a rack is due for its weighing for a week, then as ready and nothing else, and never as an alarm", () => {
  const racks = (weigh, ready) => due({ racks: [{ id: "QM-1:2", weigh, ready }] });
  assert.deepEqual(racks(TODAY, "2026-12-20").due.map(({ kind, about, day, alarm }) => [kind, about, day, alarm]), [["weigh", "QM-1:2", TODAY, false]]);
  assert.deepEqual(kinds(racks("2026-11-18", "2026-12-20")), ["weigh"]);
  assert.deepEqual(kinds(racks("2026-11-17", "2026-12-20")), []);
  assert.deepEqual(kinds(racks(TODAY, TODAY)), ["ready"]);
  assert.deepEqual(kinds(racks("", "")), []);
  // What comes next is told where nothing is due: the weighing on the 28th before the end of the cure.
  assert.deepEqual([racks("2026-11-28", "2026-12-20").next?.kind, racks("", "2026-12-20").next?.kind], ["weigh", "ready"]);
});

test("of upkeep the most pressing task alone is told: an alarm where it is overdue or something isn't mended, and else on its day", () => {
  const task = (id, state, day = "") => ({ id, state, day, values: {}, log: [], faults: [], last: "", made: null, blocks: 0 });
  const told = (upkeep) => {
    const { due, next } = dueOf({ stops: [], eyewash: {}, blocks: [], copies: { last: "", since: 0, every: 7 }, upkeep }, Date.parse("2026-12-01T08:00:00Z"), "2026-12-01");
    return { due: due.map(({ kind, about, alarm }) => [kind, about, alarm]), next: next && [next.kind, next.about, next.day] };
  };
  assert.deepEqual(told([]), { due: [], next: null });
  assert.deepEqual(told([task("a", "fault", "2026-12-09"), task("b", "over", "2026-11-01")]).due, [["upkeep", "a", true]]);
  assert.deepEqual(told([task("b", "over", "2026-11-01"), task("c", "due")]).due, [["upkeep", "b", true]]);
  assert.deepEqual(told([task("c", "due")]).due, [["upkeep", "c", false]]);
  // By blocks alone nobody knows the day: what comes next is told of days.
  assert.deepEqual(told([task("d", "later"), task("e", "later", "2026-12-09")]), { due: [], next: ["upkeep", "e", "2026-12-09"] });
});

test("a copy is due after its days or its closed blocks, whichever comes first", () => {
  // The rule is the project's own: 7 days or 5 closed blocks.
  const copies = (more) => ({ stops: [], eyewash: {}, blocks: [], copies: { last: "2026-11-24", since: 9, every: 7, after: 5, ...more } });
  const found = (more, today) => dueOf(copies(more), NOW, today);
  assert.deepEqual(found({ closed: 4 }, "2026-11-25").due, []);
  assert.equal(found({ closed: 4 }, "2026-11-25").next.day, "2026-12-01");
  for (const [closed, today, alarm] of [[5, "2026-11-25", true], [12, "2026-11-25", true], [0, "2026-12-01", false], [0, "2026-12-02", true]]) {
    const [due] = found({ closed }, today).due;
    assert.deepEqual([due.kind, due.alarm], ["copy", alarm], `${closed} blocks, ${today}`);
  }
  // None was ever made: from the first batch on, and after five blocks at once.
  assert.equal(found({ last: "", first: "2026-11-24", closed: 5 }, "2026-11-24").due[0].alarm, true);
  assert.deepEqual(found({ last: "", first: "2026-11-24", closed: 4 }, "2026-11-24").due, []);
  // Nothing has come since: nothing can be lost.
  assert.deepEqual(found({ since: 0, closed: 0 }, "2027-11-25").due, []);
});
