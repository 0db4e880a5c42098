import assert from "node:assert/strict";
import { test } from "node:test";
import { differences } from "../../../site/static/js/rules/differences.mjs";

test("two versions differ in the fields that differ, a long text from shortly before where it does", () => {
  const here = { id: "e", kind: "issued", values: { name: "A", notes: "old" }, html: `${"s".repeat(500)}1`, blocks: 2 };
  const there = { id: "e", kind: "issued", values: { name: "B", notes: "old", more: "y" }, html: `${"s".repeat(500)}2`, person: "J" };
  const found = Object.fromEntries(differences(here, there).map(({ field, ...two }) => [field, [two.here, two.there]]));
  assert.deepEqual(Object.keys(found), ["blocks", "html", "person", "values.more", "values.name"]);
  assert.deepEqual([found.blocks, found.person, found["values.name"], found["values.more"]], [["2", ""], ["", "J"], ["A", "B"], ["", "y"]]);
  assert.ok(found.html[0].endsWith("s1") && found.html[1].endsWith("s2") && found.html[0].startsWith("…s") && found.html[0].length < 130);
});
