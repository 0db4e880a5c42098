import assert from "node:assert/strict";
import { test } from "node:test";
import { cell, line } from "../../../site/static/js/rules/csv.mjs";

test("what would run as a formula is a text; a number stays one (OWASP, CSV Injection)", () => {
  for (const bad of ["=1+1", "+1;x", "-2+3", "@SUM(A1)", "\t=1", "\r=1", "\n=1", " =1", "＝1", " ＝1", "+41 79", "=HYPERLINK(\"http://x\")"]) {
    assert.ok(cell(bad).startsWith("\"'"), bad);
  }
  assert.deepEqual(["-0.5", "12", "a=b", "é \"q\", x", -3, true, undefined].map(cell), ['"-0.5"', '"12"', '"a=b"', '"é ""q"", x"', "-3", "true", ""]);
});

test("a line of a table is one of RFC 4180: what is quoted, and how it ends", () => {
  assert.equal(line(["Mill Lane 3, back door", '5" box', "O'Hara", 12, ""]), '"Mill Lane 3, back door","5"" box","O\'Hara",12,""\r\n');
});
