import assert from "node:assert/strict";
import { test } from "node:test";
import { run, simulate } from "../phones_for_tests.mjs";

// From the project's own plan for offline pages: 500 seeds here; `build.py bench phones` asks 10,000.
const SEEDS = 500;

test(`three phones, ${SEEDS} seeds: the same records, screens and copy on all of them, and no event lost or changed`, async () => {
  const told = await run(1, SEEDS);
  // Each thing that can go wrong has gone wrong often enough to mean something.
  for (const [what, least] of Object.entries({ recorded: 5000, taken: 1000, damaged: 100, dropped: 50, crashed: 200, wiped: 50 })) {
    assert.ok(told[what] >= least, `${what}: ${told[what]}`);
  }
});

test("the same seed ends with the same bytes", async () => {
  for (const seed of [7, 77]) assert.equal((await simulate(seed)).text, (await simulate(seed)).text);
});
