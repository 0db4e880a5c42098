import assert from "node:assert/strict";
import { test } from "node:test";
import { foldWorkshop, heads } from "../../../site/static/js/rules/fold.mjs";

const DEMO = {
  units: "metric",
  mould: [{ id: "m-block", values: { name: "Block mould" } }],
  formula: [{ id: "f-plain", revision: 1, event: "demo-f-plain", values: { name: "Plain" }, used_in: ["QM-1"] }],
  batch_codes: ["QM-1"],
};

let second = 0;
/** An event a second after the one made before. */
function event(kind, subject, fields = {}) {
  second += 1;
  const at = `2026-11-25T08:00:${String(second).padStart(2, "0")}.000Z`;
  return { id: `e${second}`, at, local: at, kind, subject, ...fields };
}

const SAVED = event("saved", "mould:m-own", { values: { name: "Own" } });
const RENAMED = event("saved", "mould:m-own", { values: { name: "Renamed" } });
const REMOVED = event("removed", "mould:m-block");
const REVISED = event("saved", "formula:f-plain", { values: { name: "Plain 2" }, revision: 2 });
const UNITS = event("settings", "settings:shop", { values: { units: "us" } });
const ISSUED = event("issued", "batch:QM-2", {
  code: "QM-2",
  html: "<p>sheet</p>",
  formula: { id: "f-plain", revision: 2, event: REVISED.id, name: "Plain 2" },
});
const ALL = [SAVED, RENAMED, REMOVED, REVISED, UNITS, ISSUED];

test("without events the workshop is the demo", () => {
  assert.deepEqual(foldWorkshop(DEMO, []), DEMO);
});

test("own events lie over the demo", () => {
  const state = foldWorkshop(DEMO, ALL);
  assert.equal(state.units, "us");
  assert.deepEqual(state.mould, [{ id: "m-own", values: { name: "Renamed" } }]);
  assert.deepEqual(state.batch_codes, ["QM-1", "QM-2"]);
  const [formula] = state.formula;
  assert.deepEqual([formula.revision, formula.event, formula.used_in], [2, REVISED.id, ["QM-2"]]);
});

test("with nothing beneath there is only what was stored, also by who had cleared a demo away", () => {
  for (const events of [ALL, [...ALL, event("demo_cleared", "demo:workshop")]]) {
    const state = foldWorkshop({}, events);
    assert.deepEqual(state.mould.map(({ id }) => id), ["m-own"]);
    assert.deepEqual(state.batch_codes, ["QM-2"]);
  }
});

test("the order of arrival and events that come twice change nothing", () => {
  const expected = foldWorkshop(DEMO, ALL);
  for (const permuted of permutations(ALL)) {
    assert.deepEqual(foldWorkshop(DEMO, [...permuted, ...permuted.slice(0, 3)]), expected);
  }
});

test("two events of one instant are ordered by id", () => {
  const first = { ...SAVED, id: "a", values: { name: "A" } };
  const last = { ...SAVED, id: "b", values: { name: "B" } };
  for (const events of [[first, last], [last, first]]) {
    assert.equal(foldWorkshop(DEMO, events).mould.at(-1).values.name, "B");
    assert.equal(heads(events).get("mould:m-own"), "b");
  }
});

test("the item saved last stands last, also when it was there before", () => {
  const events = [SAVED, event("saved", "mould:m-third"), event("saved", "mould:m-own", { values: {} })];
  assert.deepEqual(foldWorkshop(DEMO, events).mould.map(({ id }) => id), ["m-block", "m-third", "m-own"]);
});

test("an entry of the batch list does what the issued event itself would", () => {
  const entry = { id: ISSUED.id, code: "QM-2", at: ISSUED.at, local: ISSUED.local, formulaEvent: REVISED.id, formulaName: "" };
  const unread = ALL.filter((one) => one !== ISSUED);
  assert.deepEqual(foldWorkshop(DEMO, unread, [entry]), foldWorkshop(DEMO, ALL));
});

test("the demo itself is never changed", () => {
  const before = structuredClone(DEMO);
  foldWorkshop(DEMO, ALL);
  assert.deepEqual(DEMO, before);
});

function* permutations(list) {
  if (list.length < 2) yield list;
  for (const [place, one] of list.entries()) {
    for (const rest of permutations([...list.slice(0, place), ...list.slice(place + 1)])) yield [one, ...rest];
  }
}
