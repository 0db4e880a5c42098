import assert from "node:assert/strict";
import { test } from "node:test";

import { writeCopy } from "../../../site/static/js/store/backup.mjs";
import { eyewashOf, isDay, worstOf } from "../../../site/static/js/rules/eyewash.mjs";
import { barOf, covered, covers, dailyOf, daysAfter, isReady, monthsAfter, openStops, stopOf, trainings, unfit } from "../../../site/static/js/rules/training.mjs";
import { foldWalk, foldWalks, isOver, isSignature } from "../../../site/static/js/rules/walk.mjs";
import { back } from "../copies_for_tests.mjs";

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
const no = (point) => event("walk_answered", { point, answer: "no" });
const signed = (fields = {}) => event("walk_signed", { person: "R", initials: "R", path: "", ...fields });
/** A walk from its beginning to its signature. */
const walked = (fields = {}) => {
  const first = { ...begun(), ...fields };
  return [first, ...first.points.map(yes), signed()].map((each) => ({ ...each, subject: first.subject }));
};
const REQUIRED = { weigh: ["weigh-a", "weigh-a/teach", "weigh-b"], tank: ["tank-a"] };
/** @param {Record<string, string>} wanted helper -> the last day on which the training holds */
const holds = (events, phases, today, wanted, months = 12) =>
  assert.deepEqual(Object.fromEntries(covered(record(events, months), phases, today).map(({ helper, until }) => [helper, until])), wanted);
const record = (events, months = 12) => ({ all: trainings(events, months), stops: openStops(events, REQUIRED), required: REQUIRED });

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
const inRecord = (events, id) => events.some((each) => each.id === id);

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

const PHASED = { weigh: ["weigh-a", "weigh-a/teach", "weigh-b"], tank: ["tank-a"] };
/** A walk whose phases are signed one by one. */
const phased = () => ({ ...begun(), phases: ["weigh", "tank"], points: Object.values(PHASED).flat(), by_phase: PHASED });
const on = (day, ...events) => events.map((each) => ({ ...each, local: `${day}T10:00:00+01:00` }));
const weigh = () => PHASED.weigh.map(yes);

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

const DAILY_POINTS = ["daily-fit", "daily-air"];
const daily = (fields = {}) => ({ ...begun(), helper: "Ana", guide: "Ana", way: "daily", phases: ["daily"], points: DAILY_POINTS, ...fields });

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

const check = (fields) => event("eyewash_checked", { person: "Q", subject: "eyewash:weekly", order: "yes", way_free: "yes", tepid: "yes", ...fields });

test("the eyewash check recorded last on a day counts, by the day it was made; not in order is not held", () => {
  const state = (events, today) => eyewashOf(events, "weekly", { days: 7 }, today).state;
  assert.equal(state([], "2026-11-25"), "never");
  // ANSI/ISEA Z358.1, 4.6.2: weekly; the days counted by hand.
  const held = check({ day: "2026-11-20" });
  assert.equal(state([held], "2026-11-27"), "held");
  assert.equal(state([held], "2026-11-28"), "over");
  assert.equal(state([held, check({ day: "2026-11-25", tepid: "no" })], "2026-11-25"), "faulty");
  assert.equal(state([check({ day: "2026-11-25", order: "no" }), check({ day: "2026-11-25" })], "2026-11-25"), "held");
  // What was in order three days ago doesn't lift what is found today; a check of the same day does.
  const faulty = check({ day: "2026-11-25", way_free: "no" });
  assert.equal(state([faulty, check({ day: "2026-11-22" })], "2026-11-25"), "faulty");
  assert.equal(state([faulty, check({ day: "2026-11-22" }), check({ day: "2026-11-25" })], "2026-11-25"), "held");
  assert.equal(state([faulty, check({ day: "2026-11-26" })], "2026-11-26"), "held");
  assert.equal(eyewashOf([event("eyewash_checked", { person: "Q", subject: "eyewash:weekly" })], "weekly", { days: 7 }, "2026-11-26").day, "2026-11-25");
  assert.ok(isDay("2028-02-29") && !isDay("2027-02-29") && !isDay("25.11.2026") && !isDay(""));
});

test("an eyewash check that is entered late doesn't overturn one of a later day", () => {
  const state = (...events) => eyewashOf(events, "weekly", { days: 7 }, "2026-11-25").state;
  assert.equal(state(check({ day: "2026-11-25" }), check({ day: "2026-11-19", order: "no" })), "held");
  assert.equal(state(check({ day: "2026-11-25" }), check({ day: "2026-11-05" })), "held");
});

test("an eyewash check of a day to come, by a clock that was ahead, is put right by one of today", () => {
  const state = (...events) => eyewashOf(events, "weekly", { days: 7 }, "2026-11-25");
  const ahead = check({ day: "2027-11-25", order: "no" });
  assert.equal(state(ahead).state, "faulty");
  assert.equal(state(ahead, check({ day: "2026-11-24" })).state, "faulty");
  assert.equal(state(ahead, check({ day: "2026-11-25" })).state, "held");
  // Held no longer than one made today: 25 + 7.
  assert.equal(state(check({ day: "2027-11-25" })).until, "2026-12-02");
});

test("the card is told the worst of the eyewash checks and the first day on which one is overdue", () => {
  const found = (state, until) => ({ state, day: "", until, person: "" });
  assert.deepEqual(worstOf([found("held", "2026-11-28"), found("held", "2027-05-01")]), { state: "held", overdue_from: "2026-11-29" });
  assert.deepEqual(worstOf([found("over", "2026-11-20"), found("never", "")]), { state: "never", overdue_from: "" });
  assert.equal(worstOf([found("over", "2026-11-20"), found("faulty", "2027-01-01")]).state, "faulty");
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
  const words = { what: "a", question: "b", stop: "c" };
  const point = { key: "own:0", phase: "weigh" };
  const all = [
    { ...first, reason: "The first one here", own: [{ ...point, ...words }] },
    no,
    event("walk_cleared", { clears: no.id, person: "Q", reason: "mended" }),
    event("walk_signed", { person: "R", initials: "", path: "M10 20L30 40" }),
    event("eyewash_checked", { person: "Q", subject: "eyewash:weekly" }),
    event("eyewash_checked", { person: "Q", subject: "eyewash:yearly", day: "2026-10-30", order: "yes", way_free: "no", tepid: "yes" }),
    event("walk_taken_back", { takes: no.id }),
    event("walk_closed"),
    event("walk_signed", { person: "R", initials: "R", path: "", language: "es" }),
    { ...begun(), own: [{ ...point, en: words }, { ...point, es: words }, { ...point, en: words, es: words }] },
    { ...phased() },
    event("walk_signed", { person: "R", initials: "R", path: "", phases: ["weigh"] }),
    daily(),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: "R", reason: null }),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: null, reason: "Alone", daily: "missing", stopped: "walk:d1", took_over: true }),
    event("saved", { subject: "safety:safety", values: { "own.0.what": "a", "lift_g": "18", "lift_g.unit": "kg" } }),
  ];
  const read = await back(await writeCopy([all]));
  assert.deepEqual(read.events, all);
  const misshapen = [
    { ...no, answer: "maybe" },
    ...[{}, { weigh: [] }, { weigh: "weigh-a" }, ["weigh"]].map((by_phase) => ({ ...phased(), by_phase })),
    { ...begun(), way: "by heart" },
    event("walk_signed", { person: "R", initials: "R", path: "", phases: [] }),
    event("trained", { subject: "block:QM-1/1", person: "Q", helper: null, reason: "Alone", daily: "perhaps" }),
    { ...all[3], path: "M10 20\"/><script>" },
    { ...all[4], subject: "eyewash:daily" },
    { ...all[0], points: [] },
    { ...all[0], reason: "" },
    { ...no, html: "<b>" },
    { ...no, language: "fr" },
    { ...all[5], day: "2026-02-30" },
    { ...all[5], tepid: "cold" },
    ...[{ ...point }, { ...point, en: { what: "a", question: "b" } }, { ...point, fr: words }, { ...point, ...words, en: words }, { ...words }].map(
      (wrong) => ({ ...first, own: [wrong] }),
    ),
  ];
  for (const wrong of misshapen) {
    assert.deepEqual(await back(await writeCopy([[wrong]])), { refused: "import-format" });
  }
});
