// A block to practice on is there for every tab that asks for it at the same time, and its batch is issued once.
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { test } from "node:test";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import "../page_for_tests.mjs";

const { blockToPractice } = await import("../../../site/static/js/scale/practice.mjs");

test("two tabs that begin to practice at once go to the same block of one batch", async () => {
  await freshDatabase();
  const issued_at = "2026-11-25T08:00";
  const built = JSON.stringify({ issued_at, record: { code: "PRACTICE-1", html: "<p>1</p>", blocks: 2 } });
  globalThis.fetch = async () => ({ text: async () => built });
  const ways = await Promise.all([blockToPractice(), blockToPractice()]);
  assert.deepEqual(ways, ["#PRACTICE-1/1", "#PRACTICE-1/1"]);
  assert.deepEqual((await allEvents()).map(({ kind, code }) => [kind, code]), [["issued", "PRACTICE-1"]]);
});
