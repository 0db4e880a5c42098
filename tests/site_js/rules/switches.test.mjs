/** Switch-ons of tanks by their events; the same cases are asked of Python (tests/calc/tanks/test_switching.py). */
import assert from "node:assert/strict";
import { test } from "node:test";
import { dueOf } from "../../../site/static/js/rules/due.mjs";
import { openSwitches, withoutSwitched } from "../../../site/static/js/rules/switches.mjs";

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

test("a kept switch-on stands on Today among the entries of the plan, by its time and for as long as nobody ends it", () => {
  const plan = [{ at: Date.parse(`${DAY}T05:00`), entry: { at: `${DAY}T05:00`, kind: "make", mark: "1", soap: "Marsh", subject: "" } }];
  const known = { stops: [], eyewash: {}, blocks: [], plan, switches: [{ id: "1", at: Date.parse(`${DAY}T04:30`) }], copies: { last: "", since: 0, every: 7 } };
  const { due } = dueOf(known, Date.parse(`${DAY}T23:00`), DAY);
  assert.deepEqual(due.map(({ kind, about, alarm }) => [kind, about, alarm]), [["switch", "1", false], ["plan", "", false]]);
});
