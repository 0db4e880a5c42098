import assert from "node:assert/strict";
import { test } from "node:test";

import { barOf, covered, covers, dailyOf, daysAfter, isReady, monthsAfter, openStops, stopOf, trainings, unfit } from "../../../site/static/js/rules/training.mjs";
import { foldWalks } from "../../../site/static/js/rules/walk.mjs";
import { begun, daily, DAILY_POINTS, event, holds, no, on, phased, record, REQUIRED, signed, walked, weigh, yes } from "../walks_for_tests.mjs";

test("training counts when it is signed, all is answered and no stop is open", () => {
  const events = walked();
  assert.deepEqual(trainings(events.slice(0, -1), 12), []);
  assert.deepEqual(trainings([events[0], events[1], signed()], 12), []);
  const [entry] = trainings(events, 12);
  assert.equal(entry.helper, "R");
  assert.equal(entry.until, "2027-11-25");
  holds(events, ["weigh"], "2027-11-25", { R: "2027-11-25" });
  holds(events, ["weigh"], "2027-11-26", {});
  holds(events, ["weigh", "tank"], "2026-11-25", {});
  assert.deepEqual(trainings([...events, no("weigh-b")], 12), []);
});

test("where nobody has set how long training holds, nobody's covers anything", () => {
  holds(walked(), ["weigh"], "2026-11-25", {}, null);
});

test("a walk covers a phase only by every point that is asked in it today", () => {
  const few = walked({ points: ["weigh-b"] });
  assert.equal(trainings(few, 12).length, 1);
  holds(few, ["weigh"], "2026-11-25", {});
  const unknown = walked({ phases: ["ladder"], points: ["ladder-a"] });
  holds(unknown, ["ladder"], "2026-11-25", {});
});

test("phases of two walks add up for one person, however the name is typed", () => {
  const both = [...walked({ helper: "Ana" }), ...walked({ helper: " ana ", phases: ["tank"], points: ["tank-a"], subject: "walk:w2" })];
  holds(both, ["weigh", "tank"], "2026-11-25", { " ana ": "2027-11-25" });
});

test("a training holds until the first of its phases has to be renewed; the newest walk of a phase counts", () => {
  const on = (day, fields) => walked(fields).map((each) => ({ ...each, local: `${day}T10:00:00+01:00` }));
  const tank = on("2026-03-02", { phases: ["tank"], points: ["tank-a"], subject: "walk:w2" });
  const events = [...on("2026-01-10", { subject: "walk:w0" }), ...tank, ...on("2026-11-25", {})];
  // Twelve months after each, by the calendar: 2027-11-25 and 2027-03-02.
  holds(events, ["weigh", "tank"], "2026-11-26", { R: "2027-03-02" });
  holds(events, ["weigh"], "2026-11-26", { R: "2027-11-25" });
});

test("a guide's own training covers a walk, however the name is typed", () => {
  assert.ok(covers(record(walked({ helper: "Ana" })), " ANA", ["weigh"], "2026-11-25"));
  assert.ok(!covers(record(walked({ helper: "Ana" })), "Ana", ["weigh", "tank"], "2026-11-25"));
  assert.ok(!covers(record(walked({ helper: "Ana" })), "Bea", ["weigh"], "2026-11-25"));
  assert.equal(trainings(walked({ reason: "The first one here" }), 12)[0].reason, "The first one here");
  assert.equal(trainings(walked(), 12)[0].reason, "");
});

test("a stop is that person's, with accents and capitals or without", () => {
  const stop = { ...no("weigh-a"), subject: "walk:w0" };
  const events = [{ ...begun(), helper: "José Peña", subject: "walk:w0" }, stop, ...walked({ helper: "JOSE  pena" })];
  for (const name of ["Jose Pena", "jose\u0301 pen\u0303a", " JOSÉ PEÑA "]) assert.ok(stopOf(openStops(events, REQUIRED), name, ["weigh"]), name);
  assert.equal(stopOf(openStops(events, REQUIRED), "Josefa Peña", ["weigh"]), undefined);
  assert.deepEqual(covered(record(events), ["weigh"], "2026-11-25"), []);
});

test("an open stop of the same helper and phase takes the cover away until it is cleared", () => {
  const stop = { ...no("weigh-a"), subject: "walk:w0" };
  const events = [{ ...begun(), helper: "r", subject: "walk:w0" }, stop, ...walked()];
  assert.equal(stopOf(openStops(events, REQUIRED), "R", ["tank", "weigh"]).subject, "walk:w0");
  assert.equal(stopOf(openStops(events, REQUIRED), "R", ["tank"]), undefined);
  assert.equal(stopOf(openStops(events, REQUIRED), "S", ["weigh"]), undefined);
  holds(events, ["weigh"], "2026-11-25", {});
  const cleared = { ...event("walk_cleared", { clears: stop.id, person: "Q", reason: "mended" }), subject: "walk:w0" };
  holds([...events, cleared], ["weigh"], "2026-11-25", { R: "2027-11-25" });
});

test("a stop that lasts the day keeps its person from every walk that day, and another's stop beside it hides nothing", () => {
  const events = [{ ...begun(), helper: "Ána" }, no("weigh-b"), no("weigh-a")];
  const stops = openStops(events, REQUIRED, ["weigh-a"]);
  assert.equal(stopOf(stops, "ana", ["tank"])?.subject, "walk:w1");
  assert.equal(unfit(stops, "ana", "2026-11-25")?.subject, "walk:w1");
  assert.equal(unfit(stops, "ana", "2026-11-26"), undefined);
  assert.equal(unfit(stops, "Bea", "2026-11-25"), undefined);
  assert.equal(unfit(openStops(events, REQUIRED, []), "ana", "2026-11-25"), undefined);
  const cleared = event("walk_cleared", { clears: events[2].id, person: "Q", reason: "slept" });
  assert.equal(unfit(openStops([...events, cleared], REQUIRED, ["weigh-a"]), "ana", "2026-11-25"), undefined);
});

test("after a stop older training covers nothing in that phase until the point is answered anew, cleared or not", () => {
  const older = [...walked(), ...walked({ phases: ["tank"], points: ["tank-a"], subject: "walk:w2" })];
  const of = (subject, events) => events.map((each) => ({ ...each, subject }));
  const stop = no("weigh-b");
  const later = of("walk:w3", [{ ...begun(), helper: "r" }, stop, event("walk_cleared", { clears: stop.id, person: "Q", reason: "x" }), event("walk_closed")]);
  holds([...older, ...later], ["weigh"], "2026-11-26", {});
  holds([...older, ...later], ["tank"], "2026-11-26", { R: "2027-11-25" });
  const other = of("walk:w4", [begun(), yes("weigh-a")]);
  holds([...older, ...later, ...other], ["weigh"], "2026-11-26", {});
  holds([...older, ...later, ...of("walk:w4", [begun(), yes("weigh-b")])], ["weigh"], "2026-11-26", { R: "2027-11-25" });
  holds([...older, ...later, ...walked({ subject: "walk:w5" })], ["weigh"], "2026-11-26", { R: "2027-11-25" });
});

test("after a stop at a point of the maker's own older training covers nothing in its phase until a walk is signed", () => {
  const own = [{ key: "own:0", phase: "weigh", en: { what: "a", question: "b", stop: "c" } }];
  const older = walked();
  const stop = no("own:0");
  const later = [{ ...begun(), own, points: ["own:0"] }, stop, event("walk_cleared", { clears: stop.id, person: "Q", reason: "x" })]
    .map((each) => ({ ...each, subject: "walk:w3" }));
  holds([...older, ...later], ["weigh"], "2026-11-26", {});
  holds([...older, ...later, ...walked({ subject: "walk:w4" })], ["weigh"], "2026-11-26", { R: "2027-11-25" });
});

test("each phase counts as training from the day it was signed", () => {
  const events = [
    ...on("2026-11-25", phased(), ...weigh(), signed({ phases: ["weigh"] })),
    ...on("2026-11-26", yes("tank-a"), signed({ phases: ["tank"], initials: "R2" })),
  ];
  // Twelve months after each, by the calendar.
  assert.deepEqual(trainings(events, 12).map(({ phases, day, until, initials }) => [phases, day, until, initials]), [
    [["tank"], "2026-11-26", "2027-11-26", "R2"], [["weigh"], "2026-11-25", "2027-11-25", "R"],
  ]);
  holds(events, ["weigh"], "2027-11-25", { R: "2027-11-25" });
  holds(events, ["weigh"], "2027-11-26", {});
  holds(events, ["tank"], "2026-11-25", {});
  holds(events, ["weigh", "tank"], "2026-11-26", { R: "2027-11-25" });
  // The first phase holds though the second was never walked, and though the rest of the walk was given up.
  holds(events.slice(0, 5), ["weigh"], "2026-11-27", { R: "2027-11-25" });
  holds([...events.slice(0, 5), ...on("2026-11-27", event("walk_closed"))], ["weigh"], "2026-11-27", { R: "2027-11-25" });
});

test("a stop takes its own phase away and leaves the others that are signed", () => {
  const events = on("2026-11-25", phased(), ...weigh(), signed({ phases: ["weigh"] }), no("tank-a"));
  assert.deepEqual(trainings(events, 12).map(({ phases }) => phases), [["weigh"]]);
  holds(events, ["weigh"], "2026-11-25", { R: "2027-11-25" });
  assert.deepEqual(trainings([...events, ...on("2026-11-25", no("weigh-b"))], 12), []);
});

test("an older walk of one piece, done by heart and signed as a whole, reads on as training", () => {
  const events = walked({ way: "do-confirm" });
  const [{ way, phases, day }] = trainings(events, 12);
  assert.deepEqual([way, phases, day], ["do-confirm", ["weigh"], "2026-11-25"]);
  holds(events, ["weigh"], "2026-11-25", { R: "2027-11-25" });
});

test("a daily check is of its person and its day, and done once each point has its yes", () => {
  const events = [daily(), ...DAILY_POINTS.map(yes)];
  const held = (all, person, today) => isReady(dailyOf(foldWalks(all), person, today));
  assert.ok(held(events, " ána ", "2026-11-25"));
  for (const [person, today] of [["Ana", "2026-11-26"], ["Bea", "2026-11-25"]]) assert.ok(!held(events, person, today));
  assert.ok(!held(events.slice(0, 2), "Ana", "2026-11-25"));
  assert.ok(!held([...events, event("walk_taken_back", { takes: events[1].id })], "Ana", "2026-11-25"));
  assert.ok(!held([...events, no("daily-air")], "Ana", "2026-11-25"));
  assert.deepEqual(trainings([...events, signed()], 12).filter(({ way }) => way !== "daily"), [], "it trains nobody");
});

test("a no in the daily check stops its person in every phase until it is cleared, and takes no training away after it", () => {
  const of = (subject, events) => events.map((each) => ({ ...each, subject }));
  const stop = no("daily-air");
  const stopped = of("walk:d1", [daily({ helper: "r" }), stop]);
  const events = [...walked(), ...stopped];
  for (const phase of ["weigh", "tank"]) assert.equal(stopOf(openStops(events, REQUIRED), "R", [phase])?.subject, "walk:d1");
  holds(events, ["weigh"], "2026-11-25", {});
  const cleared = of("walk:d1", [event("walk_cleared", { clears: stop.id, person: "R", reason: "opened the door" })]);
  holds([...events, ...cleared], ["weigh"], "2026-11-25", { R: "2027-11-25" });
  // Rest comes with a night: no walk and no clearing on that day.
  assert.equal(unfit(openStops(events, REQUIRED, ["daily-air"]), "R", "2026-11-25")?.subject, "walk:d1");
});

test("a no at a point of the place keeps everybody from lye until it is cleared, and takes nobody's training away", () => {
  const of = (subject, events) => events.map((each) => ({ ...each, subject }));
  const stop = no("daily-air");
  const stopped = of("walk:d1", [daily(), stop]);
  const stops = (events) => openStops(events, REQUIRED, [], ["daily-air", "weigh-a"]);
  for (const person of ["Ana", "J"]) assert.equal(barOf(stops(stopped), person, ["tank"])?.subject, "walk:d1", person);
  assert.equal(barOf(stops(stopped), "J", ["tank"])?.place, "daily-air");
  const cleared = event("walk_cleared", { clears: stop.id, person: "Q", reason: "opened the door" });
  assert.equal(barOf(stops([...stopped, ...of("walk:d1", [cleared])]), "J", ["tank"]), undefined);
  // How fit somebody is, is theirs alone.
  const unfitAna = of("walk:d2", [daily(), no("daily-fit")]);
  assert.equal(barOf(stops(unfitAna), "J", ["tank"]), undefined);
  assert.equal(barOf(stops(unfitAna), "Ana", ["tank"])?.place, "");
  // The same in a walk, in the phase of its point; J begins a walk of his own all the same.
  const walk = of("walk:w8", [begun(), no("weigh-a")]);
  assert.equal(barOf(stops(walk), "J", ["weigh"])?.subject, "walk:w8");
  assert.equal(barOf(stops(walk), "J", ["tank"]), undefined);
  assert.equal(stopOf(stops(walk), "J", ["weigh"]), undefined);
  const all = [...stopped, ...walked({ helper: "J" })];
  assert.deepEqual(covered({ all: trainings(all, 12), stops: stops(all), required: REQUIRED }, ["weigh"], "2026-11-25").map(({ helper }) => helper), ["J"]);
});

test("months and days by the calendar", () => {
  // Counted on a calendar by hand; 2028 is a leap year.
  assert.equal(monthsAfter("2026-08-31", 1), "2026-09-30");
  assert.equal(monthsAfter("2027-02-28", 12), "2028-02-28");
  assert.equal(monthsAfter("2028-02-29", 12), "2029-02-28");
  assert.equal(monthsAfter("2026-11-25", 2), "2027-01-25");
  assert.equal(daysAfter("2026-12-28", 7), "2027-01-04");
});
