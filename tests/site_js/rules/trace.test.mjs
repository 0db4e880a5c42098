import assert from "node:assert/strict";
import { test } from "node:test";

import { logEntry } from "../../../site/static/js/rules/log.mjs";
import { picked } from "../../../site/static/js/rules/trace.mjs";

let count = 0;
const at = () => new Date(Date.UTC(2026, 0, 5) + (count += 1) * 60_000).toISOString();
const event = (kind, subject, fields = {}) => {
  const now = at();
  return { id: `e${count}`, at: now, local: now, kind, subject, person: "Q", ...fields };
};
/** One batch of one block: its sheet, and what was weighed of it out of which lots. */
function made(code, planned, ...weighed) {
  const pours = planned.map((lot, n) => ({ key: `oil:${n}`, kind: "oil", lot }));
  const issued = event("issued", `batch:${code}`, { code, blocks: 1, formula: { id: "f", event: "e", name: "Soap" }, pours });
  return [issued, ...weighed.map((lot) => event("weighed", `block:${code}/1`, { step: lot === "" ? "oil:blend" : "oil:0", lot: lot === "" ? null : lot, reading: "1", unit: "kg" }))];
}
const loaded = (tank, lot, as_lot) => event("tank_loaded", `contents:${tank}`, { parts: [{ name: lot, lot, grams: 1 }], ...(as_lot ? { as_lot } : {}) });
const packed = (id, code, ...blocks) => event("packed", `packed:${id}`, { code, parts: blocks.map((block) => ({ code: block, block: 1, bars: 5 })) });
const sent = (id, outlet) => event("sent", `packed:${id}`, { outlet, outlet_name: `The ${outlet}`, bars: 5 });
const codes = (code, told) => picked(code, { log: [], contents: [], packed: [], ...told }).entries.map((entry) => entry.code).sort();
const log = (...batches) => batches.map(logEntry);

test("an entry keeps each weighing's own lot, of a blend none, and the formula's id", () => {
  const entry = logEntry(made("A", ["OIL-1"], "OIL-1", "OIL-2", ""));
  assert.deepEqual(entry.drawn.map(({ n, lot }) => [n, lot]), [[1, "OIL-1"], [1, "OIL-2"], [1, ""]]);
  assert.ok(entry.drawn.every(({ at: when }) => when.startsWith("2026-01-05T")));
  assert.equal(entry.formula, "f");
});

test("a lot is picked where it was weighed or planned, and nowhere else", () => {
  const told = { log: log(made("A", ["OIL-1"], "OIL-1"), made("B", ["OIL-1"]), made("C", ["OIL-2"], "OIL-3"), made("D", ["OIL-4"], "OIL-4")) };
  assert.deepEqual(codes(" oil-1", told), ["A", "B"]);
  assert.deepEqual(codes("OIL-3", told), ["C"]);
  assert.deepEqual(codes("OIL-9", told), []);
});

test("what a lot was loaded into is picked through every tank that it went on to", () => {
  const told = { log: log(made("A", [], "LYE"), made("B", [], "PAIL"), made("C", [], ""), made("D", [], "OTHER")), contents: [loaded("pail", "SODA", "PAIL"), loaded("tank", "PAIL", "LYE"), loaded("oil", "OIL-1")] };
  assert.deepEqual(codes("SODA", told), ["A", "B"]);
  assert.deepEqual(codes("OIL-1", told), ["C"]);
});

test("soap set aside is followed both ways, however often", () => {
  const told = { log: log(made("A", [], "OIL-1"), made("B", [], "A/1"), made("C", [], "B/1"), made("D", [], "OIL-2")) };
  assert.deepEqual(codes("OIL-1", told), ["A", "B", "C"]);
  assert.deepEqual(codes("C", told), ["A", "B", "C"]);
  assert.deepEqual(codes("B", told), ["A", "B", "C"]);
});

test("a packed lot and an outlet are picked with the batches of their bars, by name or id", () => {
  const told = { log: log(made("A", [], "OIL-1"), made("B", [], "OIL-2")), packed: [packed("p", "A-P1", "A"), packed("q", "B-P1", "B"), sent("p", "market"), sent("q", "shop")] };
  for (const name of ["A-P1", "p", "market", "the Market"]) {
    assert.deepEqual(codes(name, told), ["A"], name);
    const { packed: lots } = picked(name, { contents: [], ...told });
    assert.deepEqual([...new Set(lots.map(({ subject }) => subject))], ["packed:p"], name);
  }
  // What it is called now counts too.
  assert.deepEqual(picked("Corner", { contents: [], ...told }, (id) => (id === "shop" ? "Corner" : id)).entries.map(({ code }) => code), ["B"]);
});

test("of a recall among very many batches only what it may concern is picked", () => {
  const told = { log: log(...Array.from({ length: 400 }, (_, n) => made(`N${n}`, [], `OIL-${n % 40}`))) };
  assert.deepEqual(codes("OIL-7", told), told.log.filter((_, n) => n % 40 === 7).map(({ code }) => code).sort());
});
