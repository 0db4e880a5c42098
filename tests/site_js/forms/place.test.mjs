import assert from "node:assert/strict";
import { test } from "node:test";
import { readPlace } from "../../../site/static/js/forms/place.mjs";

const read = (hash, kinds = []) => {
  const { kind, id, copy, blank } = readPlace(hash, kinds);
  return { kind, id, copy, blank };
};

test("on a page of one kind", () => {
  assert.deepEqual(read(""), { kind: "", id: "", copy: false, blank: false });
  assert.deepEqual(read("#new"), { kind: "", id: "", copy: false, blank: true });
  assert.deepEqual(read("#f-plain"), { kind: "", id: "f-plain", copy: false, blank: false });
  assert.deepEqual(read("#copy/f-plain"), { kind: "", id: "f-plain", copy: true, blank: false });
  const apart = readPlace("#copy/f-plain/tallow-30?name=Other", []);
  assert.deepEqual([apart.id, apart.copy, apart.key, apart.puts], ["f-plain", true, "copy/f-plain/tallow-30", { name: "Other" }]);
});

test("on a page of several kinds", () => {
  const kinds = ["mould", "scale"];
  assert.deepEqual(read("#mould", kinds), { kind: "mould", id: "", copy: false, blank: true });
  assert.deepEqual(read("#scale/new", kinds), { kind: "scale", id: "", copy: false, blank: true });
  assert.deepEqual(read("#mould/m-1", kinds), { kind: "mould", id: "m-1", copy: false, blank: false });
  assert.deepEqual(read("#mould/copy/m-1", kinds), { kind: "mould", id: "m-1", copy: true, blank: false });
});

test("encoded characters are read, broken ones left as they are", () => {
  assert.equal(read("#a%20b").id, "a b");
  assert.equal(read("#a%zz").id, "a%zz");
});

test("what another page hands over stands behind a question mark, and is no part of the id", () => {
  const { id, key, puts } = readPlace("#f-plain?fill_height_mm=7.75&fill_height_mm.unit=in&bar_frame=a%26b%3F", []);
  assert.deepEqual({ id, key }, { id: "f-plain", key: "f-plain" });
  assert.deepEqual(puts, { fill_height_mm: "7.75", "fill_height_mm.unit": "in", bar_frame: "a&b?" });
  assert.deepEqual(readPlace("#f-plain", []).puts, {});
});
