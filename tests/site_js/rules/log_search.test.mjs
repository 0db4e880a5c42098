import assert from "node:assert/strict";
import { test } from "node:test";

import { foundIn, newestFirst, replacements, textOf, wordsOf } from "../../../site/static/js/rules/log_search.mjs";

const entry = (fields = {}) => ({
  code: "QM-261130-1", formulaName: "Jabón de Ávila", local: "2026-11-30T09:06:01-06:00", at: "2026-11-30T15:06:01.754Z",
  lots: ["OLV-0412", "NAO-0287"], people: ["Q", "Iñigo"], words: ["The valve was closed too late"], ...fields,
});
const found = (typed, of = entry()) => wordsOf(typed).every((word) => textOf(of, ["curing", "Mon, Nov 30"]).includes(word));

test("each word is found, of code, formula, day, lot, person, deviation or state, in any order and any case", () => {
  for (const typed of ["261130", "avila", "2026-11-30", "nov 30", "olv-0412", "inigo", "VALVE late", "curing", "late  curing olv", ""]) {
    assert.ok(found(typed), typed);
  }
});

test("one word that is not there leaves the batch out", () => {
  for (const typed of ["poured", "curing poured", "olv-0413", "2026-12"]) assert.ok(!found(typed), typed);
});

test("words of two fields never make one", () => {
  assert.ok(!found("0412nao"));
  assert.ok(!found("qinigo"));
});

test("why a batch was found is told where its line doesn't tell it", () => {
  assert.deepEqual(foundIn(entry(), wordsOf("olv valve")), ["OLV-0412", "The valve was closed too late"]);
  assert.deepEqual(foundIn(entry(), wordsOf("avila 261130 curing")), []);
});

test("the newest stands first, and of two sheets in one's place the newer counts", () => {
  const [old, first, second] = [entry({ code: "A", at: "1" }), entry({ code: "B", at: "2", replaces: "A" }), entry({ code: "C", at: "3", replaces: "A" })];
  const ordered = newestFirst([first, old, second]);
  assert.deepEqual(ordered.map(({ code }) => code), ["C", "B", "A"]);
  assert.deepEqual([...replacements(ordered)], [["A", "C"]]);
});
