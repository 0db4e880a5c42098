/** Switch-ons of tanks by their events; the same cases are asked of Python (tests/calc/tanks/test_switching.py). */
import assert from "node:assert/strict";
import { test } from "node:test";
import { dueOf } from "../../../site/static/js/rules/due.mjs";
import { onTanks, openSwitches, withoutSwitched } from "../../../site/static/js/rules/switches.mjs";

const DAY = "2026-12-01";
const event = (id, kind, more = {}, tank = "t-oil") => ({ id, at: `${DAY}T08:00:0${id}Z`, local: `${DAY}T04:0${id}:00-04:00`, kind, subject: `contents:${tank}`, ...more });
const KEEP = event("1", "tank_switch_kept", { switch_at: `${DAY}T05:10`, name: "Oil tank", person: "J" });
const LATER = event("2", "tank_switch_kept", { switch_at: `${DAY}T05:40`, name: "Oil tank", person: "J" });
const OTHER = event("3", "tank_switch_kept", { switch_at: `${DAY}T05:20`, name: "Lye tank", person: "Q" }, "t-lye");
const open = (...events) => openSwitches(events).map(({ tank, at }) => `${tank} ${at.slice(11)}`);

test("of one tank the newest counts, the first one first, until it is done or dropped", () => {
  assert.deepEqual(open(), []);
  assert.deepEqual(open(KEEP, LATER, OTHER), ["t-lye 05:20", "t-oil 05:40"]);
  assert.deepEqual(open(KEEP, LATER, OTHER, event("4", "tank_switched_on", { takes: "2" })), ["t-lye 05:20"]);
  assert.deepEqual(open(KEEP, LATER, OTHER, event("4", "tank_switch_dropped", { takes: "3" }, "t-lye")), ["t-oil 05:40"]);
  // Ending an older one ends no newer one.
  assert.deepEqual(open(KEEP, LATER, event("4", "tank_switch_dropped", { takes: "1" })), ["t-oil 05:40"]);
});

test("the plan of the day tells no tank whose switch-on is kept or done that day; one that was dropped it tells again", () => {
  const entries = [{ at: `${DAY}T05:30`, kind: "tank_on", tank: "t-oil", subject: "" }, { at: `${DAY}T05:30`, kind: "oil_on", subject: "" }, { at: `${DAY}T07:00`, kind: "make", subject: "" }];
  const kinds = (events, day = DAY) => withoutSwitched(entries, events, day).map(({ kind }) => kind);
  assert.deepEqual(kinds([]), ["tank_on", "oil_on", "make"]);
  assert.deepEqual(kinds([KEEP]), ["oil_on", "make"]);
  assert.deepEqual(kinds([KEEP, event("4", "tank_switched_on", { takes: "1" })]), ["oil_on", "make"]);
  assert.deepEqual(kinds([KEEP, event("4", "tank_switch_dropped", { takes: "1" })]), ["tank_on", "oil_on", "make"]);
  assert.deepEqual(kinds([KEEP], "2026-12-02"), ["tank_on", "oil_on", "make"]);
});

test("a switch-on counts for the day that it is for", () => {
  const late = event("1", "tank_switch_kept", { switch_at: `${DAY}T23:40`, ready_at: "2026-12-02T07:00", name: "Oil tank" });
  const on = event("4", "tank_switched_on", { takes: "1", person: "J" });
  const kinds = (events, day) => withoutSwitched([{ at: `${day}T05:30`, kind: "tank_on", tank: "t-oil", subject: "" }], events, day).length;
  assert.deepEqual([kinds([late], DAY), kinds([late], "2026-12-02"), kinds([late, on], DAY), kinds([late, on], "2026-12-02")], [1, 0, 1, 0]);
  assert.deepEqual(["2026-12-01", "2026-12-02", "2026-12-03"].map((day) => onTanks([late, on], day).length), [1, 1, 0]);
});

test("what was on may be taken back, and ends as it is switched off", () => {
  const on = event("4", "tank_switched_on", { takes: "1", person: "J" });
  assert.deepEqual(onTanks([KEEP, on], DAY), [{ id: "4", tank: "t-oil", name: "Oil tank", at: `${DAY}T04:04`, person: "J" }]);
  const back = event("5", "tank_taken_back", { takes: "4" });
  assert.deepEqual([onTanks([KEEP, on, back], DAY), open(KEEP, on, back)], [[], ["t-oil 05:10"]]);
  const off = event("5", "tank_switched_off", { takes: "4" });
  assert.deepEqual([onTanks([KEEP, on, off], DAY), open(KEEP, on, off)], [[], []]);
  assert.equal(onTanks([KEEP, on, off, event("6", "tank_taken_back", { takes: "5" })], DAY).length, 1);
});

test("a kept switch-on stands on Today among the entries of the plan, by its time and for as long as nobody ends it", () => {
  const plan = [{ at: Date.parse(`${DAY}T05:00`), entry: { at: `${DAY}T05:00`, kind: "make", mark: "1", soap: "Marsh", subject: "" } }];
  const known = { stops: [], eyewash: {}, blocks: [], plan, switches: [{ id: "1", at: Date.parse(`${DAY}T04:30`) }], on: [{ id: "9", at: Date.parse(`${DAY}T04:10`) }], copies: { last: "", since: 0, every: 7 } };
  const { due } = dueOf(known, Date.parse(`${DAY}T23:00`), DAY);
  assert.deepEqual(due.map(({ kind, about, alarm }) => [kind, about, alarm]), [["on", "9", false], ["switch", "1", false], ["plan", "", false]]);
});
