import assert from "node:assert/strict";
import { test } from "node:test";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { foldWorkshop } from "../../../site/static/js/rules/fold.mjs";
import { replacedBy } from "../../../site/static/js/rules/replacing.mjs";

const at = (minute, event) => ({ ...event, at: `2026-11-25T08:${String(minute).padStart(2, "0")}:00.000Z` });
const plain = (superfat, more = {}) => newEvent("saved", "formula:f-1", { values: { name: "Plain", superfat, ...more }, revision: 1 });
const MINE = at(1, plain("6"));
const CALL = at(2, newEvent("saved", "safety:safety", { values: { number: "911", place: "Mill Lane 4" } }));

test("a newer formula and a newer emergency number are told, old beside new, the formula first", () => {
  const added = [
    at(4, newEvent("saved", "safety:safety", { values: { number: "112", place: "Mill Lane 4" } })),
    at(3, plain("2", { "set.unit": "kg", set: "5" })),
  ];
  assert.deepEqual(replacedBy([MINE, CALL], added), [
    { kind: "formula", name: "Plain", removed: false, fields: [{ field: "superfat", before: "6", after: "2" }, { field: "set", before: "", after: "5 kg" }] },
    { kind: "safety", name: "safety", removed: false, fields: [{ field: "number", before: "911", after: "112" }] },
  ]);
});

test("what is older than the stored item, and what is new altogether, replaces nothing", () => {
  assert.deepEqual(replacedBy([MINE, CALL], [at(0, plain("2")), at(5, newEvent("saved", "mould:m-9", { values: { name: "New" } }))]), []);
});

test("a removal and other units are told", () => {
  const added = [at(3, newEvent("removed", "formula:f-1")), at(4, newEvent("settings", "settings:shop", { values: { units: "us" } }))];
  assert.deepEqual(replacedBy([MINE], added).map(({ kind, removed, fields }) => [kind, removed, fields.length]), [["settings", false, 1], ["formula", true, 0]]);
});

test("on an empty phone a copy replaces nothing", () => {
  assert.deepEqual(replacedBy([], [MINE, CALL, newEvent("settings", "settings:shop", { values: { units: "us" } })]), []);
});

test("a stored item of a kind that is none changes neither units nor codes", () => {
  const demo = { units: "metric", batch_codes: ["QM-1"], mould: [] };
  const odd = ["units:x", "batch_codes:x", "__proto__:x"].map((subject) => newEvent("saved", subject, { values: { name: "x" } }));
  assert.deepEqual(foldWorkshop(demo, odd), { units: "metric", batch_codes: ["QM-1"], mould: [], formula: [] });
});
