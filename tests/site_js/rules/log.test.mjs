import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";

import { batchOf, logEntry, usedForSale } from "../../../site/static/js/rules/log.mjs";

let count = 0;
/** One event a minute, in the order in which they are made here; by a clock an hour ahead. */
function event(kind, subject, fields = {}) {
  count += 1;
  const minute = `${String(6 + Math.floor(count / 60)).padStart(2, "0")}:${String(count % 60).padStart(2, "0")}`;
  return { id: `e${String(count).padStart(3, "0")}`, at: `2026-11-25T${minute}:00.000Z`, local: `2026-11-25T${minute}:00+01:00`, kind, subject, person: "Q", ...fields };
}
const POURS = [
  { key: "oil:0", kind: "oil", lot: "OLV-1" },
  { key: "lye:naoh", lot: "NAO-1" },
  { key: "water", kind: "water", lot: null },
];
const issued = (fields = {}) =>
  event("issued", "batch:QM-1", { code: "QM-1", blocks: 2, formula: { event: "f1", name: "Marsh Plain" }, issued_by: "J", pours: POURS, ...fields });
const ASKED = { target: 1634, low: 1632, high: 1636, decimals: 2, unit: "kg", division: 2 };
const on = (n) => `block:QM-1/${n}`;
const weighed = (n, reading = "16.34", fields = {}) => event("weighed", on(n), { step: "oil:0", reading, unit: "kg", lot: "OLV-1", asked: ASKED, ...fields });
const closed = (n, fields = {}) => event("closed", on(n), { outcome: "poured", reason: "", record: null, ...fields });
const good = (n, reading) => event("measured", on(n), { step: "after:good", reading, unit: "bars" });
const racked = (n, fields = {}) => event("racked", on(n), { step: "after:rack", trays: 4, ...fields });
const state = (...told) => logEntry([issued({ blocks: 1 }), ...told]).state;

test("a batch goes through the states of its block's life", () => {
  // The order of the trade: sheet, scale, mould, cutter, rack, sale.
  const life = [weighed(1), closed(1), good(1, "249"), racked(1), event("cure_ready", "cure:QM-1/1", { values: {} }), event("released", "release:QM-1/1", { values: {} })];
  const states = life.map((_, n) => state(...life.slice(0, n + 1)));
  assert.deepEqual([state(), ...states], ["issued", "weighing", "poured", "cut", "curing", "cured", "released"]);
});

test("a block apart, given up, rejected or reworked says so", () => {
  assert.equal(state(weighed(1), closed(1, { outcome: "quarantined", reason: "lye twice" })), "apart");
  assert.equal(state(closed(1), event("ended", on(1), { reason: "not cut here" })), "ended");
  assert.equal(state(closed(1), event("rejected", "release:QM-1/1", { reason: "soft" })), "rejected");
  assert.equal(state(closed(1), event("reworked", "release:QM-1/1", { reason: "crumbs" })), "reworked");
});

test("what was taken back counts as if it never was", () => {
  const release = event("released", "release:QM-1/1", { values: {} });
  const life = [closed(1), racked(1), release, event("release_taken_back", "release:QM-1/1", { takes: release.id })];
  assert.equal(state(...life), "curing");
  const off = event("cure_ready", "cure:QM-1/1", { values: {} });
  assert.equal(state(closed(1), racked(1), off, event("cure_taken_back", "cure:QM-1/1", { takes: off.id })), "curing");
});

test("a batch is as far as the least of its begun blocks; those over hold it up no more", () => {
  const two = (...told) => logEntry([issued(), ...told]);
  assert.equal(two(closed(1), racked(1)).state, "curing");
  assert.deepEqual(two(closed(1), racked(1)).parts.map(({ n, state: of }) => [n, of]), [[1, "curing"], [2, "issued"]]);
  assert.equal(two(closed(1), racked(1), weighed(2)).state, "weighing");
  assert.equal(two(event("rejected", "release:QM-1/1", { reason: "soft" }), weighed(2)).state, "weighing");
  assert.equal(two(event("rejected", "release:QM-1/1", { reason: "soft" }), event("released", "release:QM-1/2", {})).state, "released");
});

test("an entry tells days, bars and people, and blocks that no sheet planned", () => {
  const poured = () => event("checked", on(1), { step: "pour", person: "R" });
  const entry = logEntry([issued(), weighed(1), poured(), closed(1), good(1, "249"), racked(1), weighed(3, "16.34", { person: "S" })]);
  assert.deepEqual(entry.parts.map(({ n, bars, people }) => [n, bars, people]), [[1, 249, ["Q", "R"]], [2, null, []], [3, null, ["S"]]]);
  assert.deepEqual([entry.parts[0].poured_on, entry.parts[0].racked_on, entry.parts[2].poured_on], ["2026-11-25", "2026-11-25", ""]);
  assert.deepEqual([entry.code, entry.formulaName, entry.formulaEvent, entry.blocks, entry.people], ["QM-1", "Marsh Plain", "f1", 2, ["J", "Q", "R", "S"]]);
});

test("a count of bars that was corrected counts as corrected", () => {
  const counted = good(1, "294");
  const fixed = event("corrected", on(1), { corrects: counted.id, reading: "249", unit: "bars", reason: "digits swapped" });
  const entry = logEntry([issued(), closed(1), counted, fixed]);
  assert.equal(entry.parts[0].bars, 249);
  assert.deepEqual([entry.deviations, entry.words], [1, ["digits swapped"]]);
});

test("until a block is closed its lots are those planned, with what was chosen instead; then those weighed", () => {
  const one = (...told) => logEntry([issued({ blocks: 1 }), ...told]);
  assert.deepEqual([one().lots, one().used], [["OLV-1", "NAO-1"], []]);
  const other = event("lots", on(1), { lots: { "oil:0": "OLV-2" } });
  assert.deepEqual(one(other).lots, ["OLV-2", "NAO-1"]);
  const amounts = [
    { pour: "oil:0", lot: "OLV-2", actual_g: 16340 },
    { pour: "lye:naoh", lot: "NAO-1", actual_g: 5200.5 },
    { pour: "water", lot: null, actual_g: 10000 },
  ];
  const done = one(other, closed(1, { record: { amounts } }));
  assert.deepEqual(done.lots, ["OLV-2", "NAO-1"]);
  // A sheet from before kinds were frozen has them in how its keys begin.
  assert.deepEqual(done.used, [
    { n: 1, pour: "oil:0", kind: "oil", lot: "OLV-2", g: 16340 },
    { n: 1, pour: "lye:naoh", kind: "alkali", lot: "NAO-1", g: 5200.5 },
    { n: 1, pour: "water", kind: "water", lot: "", g: 10000 },
  ]);
});

test("what is in bars for sale is what closed blocks weighed, without those given up or rejected", () => {
  const amounts = [{ pour: "oil:0", lot: null, actual_g: 16340 }];
  const shut = [1, 2].map((n) => closed(n, { record: { amounts } }));
  const blocks = (...told) => usedForSale(logEntry([issued(), ...told])).map(({ n, g }) => [n, g]);
  assert.deepEqual(blocks(...shut), [[1, 16340], [2, 16340]]);
  assert.deepEqual(blocks(...shut, event("rejected", "release:QM-1/1", { reason: "soft" })), [[2, 16340]]);
  assert.deepEqual(blocks(...shut, event("ended", on(2), { reason: "not cut here" })), [[1, 16340]]);
  assert.deepEqual([blocks(weighed(1)), usedForSale(null)], [[], []]);
});

const TOLD = JSON.parse(readFileSync(new URL("../../fixtures/stories/log.json", import.meta.url), "utf8"));

for (const { name, events, deviations, words } of TOLD.stories) {
  test(`deviations: ${name}`, () => {
    const told = events.map(([kind, room, fields], n) => {
      const at = `2026-11-25T08:00:${String(n + 1).padStart(2, "0")}`;
      const asked = kind === "weighed" ? { asked: TOLD.asked, mode: "net", lot: null } : {};
      return { id: `e${String(n + 1).padStart(2, "0")}`, at: `${at}.000Z`, local: `${at}+00:00`, kind, subject: `${room}:QM-1/1`, person: "Q", ...asked, ...fields };
    });
    const entry = logEntry([{ ...issued({ blocks: 1, pours: TOLD.pours }), at: "2026-11-25T07:00:00.000Z" }, ...told]);
    assert.deepEqual([entry.deviations, entry.words], [deviations, words]);
  });
}

test("what a sheet was issued in spite of counts too, and what a closed record says is searched", () => {
  const spite = logEntry([issued({ reason: "low superfat wanted" })]);
  assert.deepEqual([spite.deviations, spite.words], [1, ["low superfat wanted"]]);
  const said = logEntry([issued(), closed(1, { record: { amounts: [], deviations: ["Pour olive oil: outside its band."] } })]);
  assert.deepEqual([said.deviations, said.words], [0, ["Pour olive oil: outside its band."]]);
});

test("the order in which events come, and those that come twice, change nothing", () => {
  const told = [issued(), weighed(1), weighed(2, "16.52"), closed(1), racked(1), event("cure_racked", "cure:QM-1/1", { values: { cut_on: "2026-11-24" } })];
  assert.deepEqual(logEntry([...told.toReversed(), ...told]), logEntry(told));
  assert.equal(logEntry(told).parts[0].racked_on, "2026-11-25");
});

test("nothing is an entry without its sheet; of two sheets of one code the first counts, and it says so", () => {
  assert.equal(logEntry([weighed(1)]), null);
  const [first, second] = [issued(), issued({ formula: { event: "f2", name: "Other" } })];
  assert.deepEqual([logEntry([second, first]).formulaName, logEntry([second, first]).twice, logEntry([first]).twice], ["Marsh Plain", true, undefined]);
});

test("an event is about the batch that its subject names, whatever stands in the code", () => {
  const of = (subject) => batchOf({ subject });
  assert.deepEqual([of("batch:QM-1"), of("block:QM-1/2"), of("cure:A/B/12"), of("release:QM-1/1")], [["QM-1", 0], ["QM-1", 2], ["A/B", 12], ["QM-1", 1]]);
  assert.deepEqual([of("mould:m"), of("walk:w"), of("contents:t-lye")], [null, null, null]);
});
