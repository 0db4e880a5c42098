import assert from "node:assert/strict";
import { test } from "node:test";

import { logEntry } from "../../../site/static/js/rules/log.mjs";
import { meantBy, picked, unlogged } from "../../../site/static/js/rules/trace.mjs";

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
const loaded = (tank, lot, as_lot) => event("tank_loaded", `contents:${tank}`, { parts: [{ name: lot, lot, grams: 1, ...(as_lot ? { alkali: "naoh" } : {}) }], ...(as_lot ? { as_lot } : {}) });
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

/** A batch whose scent is a mix: one line names its lots, as the sheet writes them; 40 and 60 of 100. */
function scented(code, line, ...fields) {
  const parts = [{ name: "Clove", lot: "CLV-1", share_fraction: 0.4 }, { name: "Orange", lot: "ORG-1", share_fraction: 0.6 }];
  const issued = event("issued", `batch:${code}`, { code, blocks: 1, formula: { id: "f", event: "e", name: "Soap" }, scent: { parts }, pours: [{ key: "scent", kind: "scent", lot: "CLV-1, ORG-1" }] });
  return [issued, event("weighed", `block:${code}/1`, { step: "scent", lot: line, reading: "1", unit: "kg" }), ...fields];
}
const closedWith = (code, ...amounts) => event("closed", `block:${code}/1`, { outcome: "poured", record: { amounts } });

test("every lot of a mixed scent is one that its blocks were weighed from, with its share by the sheet", () => {
  const entry = logEntry(scented("A", "CLV-1, ORG-1", closedWith("A", { pour: "scent", lot: "CLV-1, ORG-1", actual_g: 500 })));
  assert.deepEqual([entry.lots, entry.drawn.map(({ lot }) => lot)], [["CLV-1", "ORG-1"], ["CLV-1", "ORG-1"]]);
  assert.deepEqual(entry.used[0].parts, [{ lot: "CLV-1", share: 0.4 }, { lot: "ORG-1", share: 0.6 }]);
  for (const lot of ["CLV-1", "org-1"]) assert.deepEqual(codes(lot, { log: [entry] }), ["A"], lot);
  assert.deepEqual(codes("ORG-2", { log: [entry] }), []);
  // Only planned, nothing weighed.
  assert.deepEqual(logEntry(scented("B", "x").slice(0, 1)).lots, ["CLV-1", "ORG-1"]);
});

test("of a mix whose lots were typed at the scale each is told; a lot alone stays one", () => {
  const other = logEntry(scented("A", "CLV-1, ORG-2", closedWith("A", { pour: "scent", lot: "CLV-1, ORG-2", actual_g: 500 })));
  assert.deepEqual(other.used[0].parts, [{ lot: "CLV-1", share: 0.4 }, { lot: "ORG-2", share: 0.6 }]);
  assert.deepEqual(codes("ORG-2", { log: [other] }), ["A"]);
  assert.deepEqual(logEntry(scented("B", "MIX-7", closedWith("B", { pour: "scent", lot: "MIX-7", actual_g: 500 }))).lots, ["MIX-7"]);
});

test("of a pour out of two lots each is told, of an older record by its readings", () => {
  const now = logEntry([...made("A", ["OIL-1"], "OIL-1", "OIL-2"), closedWith("A", { pour: "oil:0", lot: "OIL-2", actual_g: 3, lots: [{ lot: "OIL-1", actual_g: 2 }, { lot: "OIL-2", actual_g: 1 }] })]);
  assert.deepEqual(now.used.map(({ lot, g }) => [lot, g]), [["OIL-1", 2], ["OIL-2", 1]]);
  const [issued] = made("B", ["OIL-1"]);
  const halves = [["first", "OIL-1", "2.00"], ["second", "OIL-2", "1.00"]].map(([half, lot, reading]) => event("weighed", "block:B/1", { step: `oil:0:${half}`, lot, reading, unit: "kg" }));
  const before = logEntry([issued, ...halves, closedWith("B", { pour: "oil:0", lot: "OIL-2", actual_g: 3000 })]);
  assert.deepEqual(before.used, [{ n: 1, pour: "oil:0", kind: "oil", lot: "OIL-2", g: 3000, readings: [{ lot: "OIL-1", reading: "2.00" }, { lot: "OIL-2", reading: "1.00" }] }]);
});

test("a lot is picked in whatever letters it was typed, and under each code that its form bore", () => {
  const log = [["A", "OLV-1"], ["B", "olv -1"], ["C", "OLV-01"], ["D", "OLV-2"]].map(([code, lot]) => logEntry(made(code, [], lot)));
  const saves = ["OLV-1", "OLV-01"].map((code) => event("saved", "oil_lot:o", { values: { code } })).concat(event("saved", "oil_lot:p", { values: { code: "OLV-2" } }));
  assert.deepEqual(codes("OLV-1", { log }), ["A", "B"]);
  for (const code of ["olv-1", "OLV-01"]) assert.deepEqual(codes(code, { log, saves }), ["A", "B", "C"], code);
  assert.deepEqual(codes("OLV-2", { log, saves }), ["D"]);
});

test("batches out of a tank that held lye before and holds oils now are picked", () => {
  const contents = [loaded("t", "SODA", "LYE"), event("tank_emptied", "contents:t"), loaded("t", "OIL-9")];
  assert.deepEqual(codes("OIL-9", { log: log(made("A", ["OIL-1"], ""), made("B", [], "OIL-2")), contents }), ["A"]);
});

test("of a lot of packaging every packed lot that it went round is picked, with its batches, and no other", () => {
  const wrapped = { ...packed("p", "A-P1", "A"), packaging: [{ lot: "BND-1", n: 100 }] };
  const told = { log: log(made("A", [], "OIL-1"), made("B", [], "OIL-2")), contents: [], packed: [wrapped, packed("q", "B-P1", "B"), sent("p", "market"), sent("q", "shop")] };
  const found = picked("bnd-1", told);
  assert.deepEqual(found.entries.map(({ code }) => code), ["A"]);
  assert.deepEqual([...new Set(found.packed.map(({ subject }) => subject))], ["packed:p"]);
  assert.deepEqual(picked("BND-2", told).entries, []);
});

test("a code typed without its dash is the only one of those letters and digits, and never one of two", () => {
  const known = ["OLV-0412", "PLM-0107", "A-11", "A1-1", "olv-0412"];
  for (const typed of ["olv0412", "OLV 0412", "Olv/0412"]) assert.equal(meantBy(typed, known).toLowerCase(), "olv-0412", typed);
  for (const typed of ["a11", "OLV-0413", "PLM-0107", "plm-0107", "", "-"]) assert.equal(meantBy(typed, known), typed);
});

test("what a log knows nothing of is on the racks alone, block by block", () => {
  const told = log(made("A", ["OIL-1"], "OIL-1"));
  assert.deepEqual(unlogged(told, ["cure:A/1", "cure:PP-1/1", "cure:PP-1/1", "cure:A/2"].map((subject) => ({ subject }))), ["PP-1/1", "A/2"]);
});

test("packed lots of batches that nobody recorded, and batches without any lot, come with every trace; whom a packed lot names comes too", () => {
  const told = { log: log(made("A", ["OIL-1"], "OIL-1"), made("B", ["OIL-2"], "OIL-2"), made("C", ["OIL-3"], "OIL-3")), packed: [packed("p", "P", "A", "B"), packed("q", "Q", "PAPER"), packed("r", "R", "C")] };
  const { entries, packed: lots } = picked("OIL-1", { contents: [], ...told });
  assert.deepEqual(entries.map(({ code }) => code).sort(), ["A", "B"]);
  assert.deepEqual(lots.map(({ subject }) => subject), ["packed:p", "packed:q"]);
  const bare = { ...log(made("D", []))[0], state: "curing" };
  assert.deepEqual(codes("OIL-9", { log: [bare] }), ["D"]);
});
