import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { Judge, readLine, readSma, Splitter } from "../../../site/static/js/rules/scale_lines.mjs";

/** What the shop server is asked too. */
const FIXTURE = JSON.parse(readFileSync(new URL("../../fixtures/scale_lines.json", import.meta.url), "utf8"));

const said = ({ status, zero, net, count, unit }) => ({ status, zero, net, count, unit });
const bytes = (text) => Uint8Array.from(text, (each) => each.charCodeAt(0));

for (const { says, text, reading } of FIXTURE.sma) {
  test(`of the standard: ${says}`, () => assert.deepEqual(said(readSma(text)), reading));
}

for (const { says, text, reading, pattern, unit } of FIXTURE.line) {
  test(`a line: ${says}`, () => {
    const read = readLine(text, pattern && new RegExp(pattern, "i"), unit);
    assert.deepEqual(said(read), reading);
    assert.equal(read.raw, text);
  });
}

test("the first line may be half and is dropped, and one that is cut in two is put together", () => {
  const lines = new Splitter();
  assert.deepEqual(lines.feed(bytes("2.34 kg\r\n")), []);
  assert.deepEqual(lines.feed(bytes("12.3")), []);
  assert.deepEqual(lines.feed(bytes("4 kg\r\n\x0212.36 kg\x03\r")), ["12.34 kg", "12.36 kg"]);
});

test("bytes that are no text are told as such, and a line without an end is cut", () => {
  const lines = new Splitter();
  lines.feed(bytes("\r"));
  assert.deepEqual(lines.feed(bytes("\xff\xfe12.34 kg\r")), ["\\xff\\xfe12.34 kg"]);
  const [text] = lines.feed(bytes("x".repeat(5000)));
  assert.equal(text.length, 100);
});

test("a display that doesn't say that it has settled has once it stood for a second; one that says so is believed", () => {
  const judge = new Judge(0);
  assert.deepEqual([0, 500, 900, 1100].map((now) => judge.heard("line", "12.34 kg", now).status), ["moving", "moving", "moving", "stable"]);
  assert.equal(judge.heard("line", "12.36 kg", 1200).status, "moving");
  assert.equal(judge.heard("line", "ST,NT,+12.38kg", 1300).status, "stable");
});

test("garbage is told once nothing else came for two seconds, and silence as gone", () => {
  const judge = new Judge(0);
  judge.heard("sma", " 1N       12.34kg ", 0);
  assert.equal(judge.heard("sma", "12", 200), null);
  assert.equal(judge.heard("sma", "12", 2500).status, "garbage");
  assert.equal(judge.silent(4400), null);
  assert.deepEqual(judge.silent(4600), { raw: "", status: "gone", zero: false, net: null, count: null, unit: null });
});
