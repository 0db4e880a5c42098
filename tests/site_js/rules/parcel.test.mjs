import assert from "node:assert/strict";
import { test } from "node:test";

import { compared, isParcel, parcelOf } from "../../../site/static/js/rules/parcel.mjs";

let n = 0;
const saved = (subject, values, at, more = {}) => ({ id: `p${++n}`, at: `${at}.000Z`, local: `${at}+00:00`, kind: "saved", subject, values, ...more });
const DAY = "2026-12-01T0";

const oil = saved("own_oil:o1", { name: "Shea of ours" }, `${DAY}7:00:00`);
const lot = saved("scent_lot:l1", { code: "LAV-42" }, `${DAY}7:01:00`);
const scent = saved("scent:s1", { name: "Lavender", "parts.0.material": "lot:l1" }, `${DAY}7:02:00`);
const first = saved("formula:f1", { name: "Reed", "oils.0.oil": "palm" }, `${DAY}7:03:00`, { revision: 1 });
const second = saved("formula:f1", { name: "Reed", "oils.0.oil": "own:o1", scent: "s1" }, `${DAY}7:04:00`, { revision: 2 });
const other = saved("formula:f2", { name: "Marsh", "oils.0.oil": "own:o2", scent: "lot:l1" }, `${DAY}7:05:00`, { revision: 1 });

test("a formula goes as it was saved last, with the oils of one's own, the scent and its lots; nothing of another formula", () => {
  const stored = [other, second, first, scent, lot, oil, saved("own_oil:o3", { name: "not in it" }, `${DAY}7:06:00`)];
  assert.deepEqual(parcelOf(stored, "f1"), [second, oil, scent, lot]);
  // One material by itself is a lot; an oil that is not there any more stays away.
  assert.deepEqual(parcelOf(stored, "f2"), [other, lot]);
  assert.deepEqual(parcelOf(stored, "nobody"), []);
  assert.deepEqual(parcelOf([...stored, { ...saved("formula:f1", {}, `${DAY}8:00:00`), kind: "removed" }], "f1"), []);
});

test("a link may bring formulas, what they are made of, and sheets: no removal, no weighing, no settings, no person", () => {
  const issued = { ...first, kind: "issued", subject: "batch:QM-1", code: "QM-1" };
  assert.ok(isParcel([second, oil, scent, lot]) && isParcel([issued]));
  for (const [kind, subject] of [["removed", "formula:f1"], ["saved", "person:p1"], ["saved", "safety:safety"], ["saved", "scale:s1"], ["weighed", "block:QM-1/1"], ["settings", "settings:shop"], ["walk_signed", "walk:w1"]]) {
    assert.ok(!isParcel([second, { ...first, kind, subject }]), kind + subject);
  }
  assert.ok(!isParcel([]) && !isParcel(Array.from({ length: 101 }, () => second)));
});

const how = (stored, came) => compared(stored, [came])[0].how;

test("what is here already is the same, by its id or by what it says; what isn't here is new", () => {
  assert.equal(how([first, second], first), "same");
  assert.equal(how([first, second], second), "same");
  assert.equal(how([second], { ...second, id: "another" }), "same");
  const { how: found, fields } = compared([], [first])[0];
  assert.deepEqual([found, fields], ["new", [{ field: "name", before: "", after: "Reed" }, { field: "oils.0.oil", before: "", after: "palm" }]]);
});

test("newer and older by clock and revision alike; where they disagree a person has to look", () => {
  assert.equal(how([first], second), "newer");
  assert.equal(how([second], { ...first, id: "x1" }), "older");
  // Both phones have saved a second revision.
  const theirs = saved("formula:f1", { name: "Reed", "oils.0.oil": "olive" }, `${DAY}9:00:00`, { revision: 2 });
  assert.equal(how([first, second], theirs), "conflict");
  assert.deepEqual(compared([first, second], [theirs])[0].fields, [
    { field: "oils.0.oil", before: "own:o1", after: "olive" }, { field: "scent", before: "s1", after: "" },
  ]);
  // A lower revision, saved later; a higher one, saved earlier.
  assert.equal(how([second], saved("formula:f1", { name: "Reed 2" }, `${DAY}9:00:00`, { revision: 1 })), "conflict");
  assert.equal(how([second], saved("formula:f1", { name: "Reed 2" }, `${DAY}1:00:00`, { revision: 9 })), "conflict");
});

test("another sheet under a code that is issued here is a conflict, the same one is the same", () => {
  const sheet = { id: "i1", at: `${DAY}7:00:00.000Z`, local: `${DAY}7:00:00+00:00`, kind: "issued", subject: "batch:QM-1", code: "QM-1" };
  assert.equal(how([sheet], sheet), "same");
  assert.equal(how([sheet], { ...sheet, id: "i2" }), "conflict");
  assert.equal(how([], sheet), "new");
});

test("what was removed here is told so, and its coming back as a change", () => {
  const gone = { ...saved("formula:f1", undefined, `${DAY}8:00:00`), kind: "removed" };
  const later = saved("formula:f1", { name: "Reed" }, `${DAY}9:00:00`, { revision: 3 });
  assert.deepEqual([compared([second, gone], [later])[0].how, compared([second, gone], [later])[0].here], ["newer", gone]);
  // The same revision that was here before it was removed: nothing that isn't stored already.
  assert.equal(how([second, gone], second), "same");
});
