/** The plan of a day as its events leave it: which one counts, what of it comes next, and a sheet as Python is told of it. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { icsOfInstants } from "../../../site/static/js/rules/calendar.mjs";
import { comingUp, isDayOver, plansOf, sheetForDay } from "../../../site/static/js/rules/day.mjs";
import { dueOf } from "../../../site/static/js/rules/due.mjs";

const DAY = "2026-12-01";
const at = (time) => Date.parse(`${DAY}T${time}`);
const planned = (id, entries, subject = `day:${DAY}`) => ({ id, kind: "day_planned", subject, at: id, local: id, entries });
const entry = (time, kind, mark = "", subject = "") => ({ at: `${DAY}T${time}`, kind, mark, soap: "Marsh", subject });
const ENTRIES = [entry("05:00", "oil_on"), entry("07:00", "make", "1", "block:QM-1/1"), entry("08:10", "make", "2", "block:QM-1/2"), entry("09:20", "make", "3")];
const NONE = () => [];

test("of two phones' plans for one day the newer counts, and none once it was dropped", () => {
  const events = [planned("a", []), planned("b", ENTRIES), planned("c", [], "day:2026-12-02")];
  assert.equal(plansOf(events).get(DAY).id, "b");
  assert.deepEqual([...plansOf([...events, { kind: "day_dropped", subject: `day:${DAY}` }]).keys()], ["2026-12-02"]);
});

test("what comes next is told three at a time, and what nobody can tell as done goes an hour after its time", () => {
  const marks = (now) => comingUp(ENTRIES, NONE, now).map(({ entry: { kind, mark } }) => `${kind} ${mark}`.trim());
  assert.deepEqual(marks(at("05:10")), ["oil_on", "make 1", "make 2"]);
  assert.deepEqual(marks(at("06:10")), ["make 1", "make 2", "make 3"]);
  // A block with a sheet stands until its own events say that it is begun.
  assert.deepEqual(marks(at("12:00")), ["make 1", "make 2"]);
});

test("a block that is begun falls out, and by how much it came late the later ones are late", () => {
  const events = (subject) => (subject === "block:QM-1/1" ? [{ kind: "checked", step: "check:protect", local: `${DAY}T07:25:00` }] : []);
  const next = comingUp(ENTRIES, events, at("07:30"));
  assert.deepEqual(next.map(({ entry: { mark }, at: instant }) => [mark, instant]), [["2", at("08:35")], ["3", at("09:45")]]);
  assert.ok(next.every(({ late }) => late));
});

test("a block begun ahead of its time makes nothing earlier", () => {
  const events = (subject) => (subject === "block:QM-1/1" ? [{ kind: "weighed", local: `${DAY}T06:40:00` }] : []);
  assert.deepEqual(comingUp(ENTRIES, events, at("06:45")).map(({ at: instant, late }) => [instant, late]), [[at("08:10"), false], [at("09:20"), false]]);
});

const told = (kind, time, more = {}) => ({ kind, local: `${DAY}T${time}:00`, ...more });
const made = (subject, events, soap = "Marsh") => ({ subject, soap, events });
const over = (entries, blocks, time, ends = "18:00") => isDayOver({ entries, blocks, ends }, `${DAY}T${time}`);
const DONE = [told("checked", "07:05", { step: "check:protect" }), told("closed", "08:00")];

test("a day is over once all of its plan is done, whatever the clock says, and not before", () => {
  const plan = [entry("05:00", "oil_on"), entry("07:00", "make", "1", "block:QM-1/1"), entry("09:20", "make", "2"), entry("10:00", "bars", "A", "block:QM-0/1")];
  const first = made("block:QM-1/1", DONE);
  const ofFormula = made("block:QM-2/1", DONE);
  const bars = made("block:QM-0/1", [{ kind: "closed", local: "2026-11-30T09:00:00" }, told("checked", "10:30", { step: "after:bars" })]);
  assert.equal(over(plan, [first, ofFormula, bars], "11:00"), true);
  assert.equal(over(plan, [first, bars], "11:00"), false, "the second block has no sheet of its own yet");
  assert.equal(over(plan, [first, made("block:QM-2/1", DONE, "Reed"), bars], "11:00"), false, "another soap's block is not the one planned");
  assert.equal(over(plan, [first, ofFormula, made("block:QM-0/1", bars.events.slice(0, 1))], "11:00"), false, "its bars are still to be cut");
  assert.equal(over([], [first], "11:00"), false, "what nobody planned is over at its end alone");
});

test("past its end a day is over unless a block is in hand or something is planned for later", () => {
  const plan = [entry("07:00", "make", "1", "block:QM-1/1"), entry("19:00", "make", "2")];
  assert.equal(over([], [], "17:59"), false);
  assert.equal(over([], [], "18:00"), true);
  assert.equal(over([], [], "17:00", "16:30"), true);
  assert.equal(over([], [made("block:QM-1/1", DONE.slice(0, 1))], "18:30"), false);
  assert.equal(over(plan, [], "18:30"), false);
  // The first block was never made: by then nobody will.
  assert.equal(over(plan, [], "19:01"), true);
  // A block that was left open on another day holds up no evening.
  assert.equal(over([], [made("block:QM-0/1", [{ kind: "checked", local: "2026-11-20T09:00:00" }])], "18:30"), true);
});

test("Today tells the plan's entries behind what is due anyhow, never as an alarm, and no block twice", () => {
  const next = [{ at: at("10:00"), entry: entry("10:00", "unmould", "A", "block:QM-0/1") }, { at: at("11:00"), entry: entry("11:00", "make", "3") }];
  const known = { stops: [], eyewash: {}, blocks: [], copies: { last: DAY, since: 0, every: 7 }, plan: next };
  const kinds = (more) => dueOf({ ...known, ...more }, at("09:00"), DAY).due.map(({ kind, about, alarm }) => [kind, about, alarm]);
  assert.deepEqual(kinds({}), [["plan", "block:QM-0/1", false], ["plan", "", false]]);
  assert.deepEqual(kinds({ after: [{ subject: "block:QM-0/1", step: "after:lift", at: at("08:00") }] }), [["after", "block:QM-0/1", false], ["plan", "", false]]);
});

test("a sheet is told with what happened at each block, when it is due, and nothing that is only to be read", () => {
  const after = [{ key: "after:lift", kind: "lift", seconds: 3600 }];
  const issued = { code: "QM-1", local: `${DAY}T06:00:00`, html: "<p>", formula: { id: "f", name: "Marsh" }, mould: { name: "Big", length_mm: 1 }, vessel: { name: "Pot" },
    blocks: 2, pours: [{ kind: "alkali", phase: "vessel", target_g: 14000, key: "lye:naoh" }], after };
  const told = [
    { kind: "checked", step: "pour", subject: "block:QM-1/1", at: `${DAY}T08:00:00.000Z`, local: `${DAY}T08:00:00Z`, person: "Q", note: "" },
    { kind: "closed", outcome: "poured", subject: "block:QM-1/1", at: `${DAY}T08:01:00.000Z`, local: `${DAY}T08:01:00Z`, record: {} },
  ];
  const sheet = sheetForDay(issued, told, [], 3, (instant) => new Date(instant).toISOString());
  // Poured at eight, an hour in the mold by its sheet.
  assert.deepEqual(sheet.due, { 1: `${DAY}T09:00` });
  assert.deepEqual([sheet.day, sheet.blocks, sheet.rests, sheet.mould, sheet.pours], [DAY, 2, 3600, { name: "Big" }, [{ kind: "alkali", phase: "vessel", lot: null, target_g: 14000 }]]);
  assert.deepEqual(sheet.told[1].map(({ kind, person }) => [kind, person]), [["checked", "Q"], ["closed", undefined]]);
  assert.ok(!("html" in sheet) && !("record" in sheet.told[1][1]));
  // Its oils come one by one, or all of them out of a tank in one weighing.
  assert.equal(sheet.blended, false);
  assert.equal(sheetForDay({ ...issued, steps: [{ key: "oil:blend" }] }, told, [], 3, String).blended, true);
});

test("a day's calendar file has an event and an alarm for each instant, by RFC 5545", () => {
  const text = icsOfInstants({ stamp: 0, instants: [{ at: Date.UTC(2026, 11, 1, 5), title: "Switch on, please" }, { at: Date.UTC(2026, 11, 1, 7), title: "Start" }] });
  assert.equal(text.match(/BEGIN:VEVENT/g)?.length, 2);
  assert.ok(text.includes("DTSTART:20261201T050000Z\r\n") && text.includes("SUMMARY:Switch on\\, please\r\n"));
  assert.equal(text.match(/TRIGGER:PT0S/g)?.length, 2);
});
