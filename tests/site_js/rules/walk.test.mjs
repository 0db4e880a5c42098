import assert from "node:assert/strict";
import { test } from "node:test";

import { trainings } from "../../../site/static/js/rules/training.mjs";
import { foldWalk, foldWalks, isOver, isSignature } from "../../../site/static/js/rules/walk.mjs";
import { begun, event, inRecord, no, on, phased, signed, walked, weigh, yes } from "../walks_for_tests.mjs";

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

test("every no stays in the record with what put it right, the first clearing of it", () => {
  const [first, second] = [no("weigh-a"), no("weigh-b")];
  const cleared = (person) => event("walk_cleared", { clears: first.id, person, reason: "mended" });
  const { stops } = foldWalk([begun(), first, cleared("Q"), cleared("S"), second]);
  assert.deepEqual(stops.map((stop) => [stop.no.point, stop.cleared?.person]), [["weigh-a", "Q"], ["weigh-b", undefined]]);
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

test("a yes that is taken back is asked again and to be signed again, and stays in the record", () => {
  const events = walked();
  const back = event("walk_taken_back", { takes: events[2].id });
  const fold = foldWalk([...events, back]);
  assert.equal(fold.index, 1);
  assert.equal(fold.signed, null);
  assert.deepEqual(trainings([...events, back], 12), []);
  const again = [...events, back, yes("weigh-a/teach"), signed()];
  assert.equal(trainings(again, 12).length, 1);
  assert.ok(inRecord(again, events[2].id));
});

test("of two phones one says yes and one says no: once cleared, the point is asked again", () => {
  const stop = no("weigh-a");
  const events = [{ ...begun(), at: "2026-11-25T08:00:00.000Z" }, stop, yes("weigh-a"), event("walk_cleared", { clears: stop.id, person: "Q", reason: "x" })];
  assert.equal(foldWalk(events).stopped, null);
  assert.equal(foldWalk(events).index, 0);
});

test("a walk is of one day: signed later it is no training", () => {
  const events = walked();
  const late = events.map((each, n) => (n === events.length - 1 ? { ...each, local: "2026-11-26T08:00:00+01:00" } : each));
  assert.deepEqual(trainings(late, 12), []);
  assert.equal(isOver(foldWalk(events.slice(0, 2)), "2026-11-25"), false);
  assert.equal(isOver(foldWalk(events.slice(0, 2)), "2026-11-26"), true);
  assert.equal(isOver(foldWalk([...events.slice(0, 2), event("walk_closed")]), "2026-11-25"), true);
});

test("several phases of one day are signed at once", () => {
  const events = on("2026-11-25", phased(), ...weigh(), yes("tank-a"), signed({ phases: ["weigh", "tank"] }));
  assert.deepEqual(trainings(events, 12).map(({ phases }) => phases), [["weigh", "tank"]]);
  assert.equal(foldWalk(events, "2026-11-26").signed.id, events.at(-1).id);
});

test("what was answered and not signed that day is asked anew on another, and a late signature is for nothing", () => {
  const day = on("2026-11-25", phased(), ...weigh(), signed({ phases: ["weigh"] }), yes("tank-a"));
  assert.deepEqual(foldWalk(day, "2026-11-25").parts.map(({ left }) => left), [[], []]);
  assert.deepEqual(foldWalk(day, "2026-11-26").parts.map(({ left }) => left), [[], ["tank-a"]]);
  const late = [...day, ...on("2026-11-26", signed({ phases: ["weigh", "tank"] }))];
  assert.deepEqual(trainings(late, 12).map(({ phases, day: of }) => [phases, of]), [[["weigh"], "2026-11-25"]]);
  const half = [...on("2026-11-25", phased(), yes("weigh-a")), ...on("2026-11-26", yes("weigh-a/teach"), yes("weigh-b"), signed())];
  assert.deepEqual(trainings(half, 12), []);
  assert.deepEqual(trainings([...half, ...on("2026-11-26", yes("weigh-a"), signed())], 12).map(({ day: of }) => of), ["2026-11-26"]);
});

test("a touch and an empty field are no signature", () => {
  // A palm leaves a point or a short line; a third of the field is a hand's stroke.
  for (const [initials, path] of [["", ""], ["", "M85 83"], ["  ", "M85 83L90 88"], [".", ""]]) assert.equal(isSignature(initials, path), false);
  assert.equal(isSignature("", "M10 20L210 20"), true);
  assert.equal(isSignature("Ñ", ""), true);
  const events = walked();
  assert.deepEqual(trainings([...events.slice(0, -1), signed({ initials: "", path: "M85 83" })], 12), []);
});

test("the languages of a walk are those in which it was answered", () => {
  const events = walked().map((each) => (each.kind === "walk_begun" ? each : { ...each, language: "en" }));
  assert.deepEqual(trainings(events, 12)[0].languages, ["en"]);
  // Of an older build: as it was begun.
  assert.deepEqual(trainings(walked(), 12)[0].languages, ["es"]);
});
