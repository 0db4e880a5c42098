// Run by tests/bench/trace.py and tests/calc/record/test_trace.py: what the page picks for each code out of all records, and how
// long that takes [ms]. Where raw events are told, the log is made of them first, and told too.
import { readFileSync } from "node:fs";
import { argv } from "node:process";
import { inOrder } from "../../site/static/js/rules/fold.mjs";
import { batchOf, logEntry } from "../../site/static/js/rules/log.mjs";
import { picked } from "../../site/static/js/rules/trace.mjs";

const { codes, events, log = made(events), ...told } = JSON.parse(readFileSync(argv[2], "utf8"));
const picks = codes.map((code) => {
  const began = performance.now();
  const { entries, packed } = picked(code, { ...told, log });
  return { ms: performance.now() - began, entries: entries.map((entry) => entry.code), packed: packed.map(({ id }) => id) };
});
console.log(JSON.stringify(events ? { picks, log } : picks));

function made(all) {
  const batches = new Map();
  for (const event of inOrder(all)) {
    const [code] = batchOf(event) ?? [];
    if (code) batches.set(code, [...(batches.get(code) ?? []), event]);
  }
  return [...batches.values()].flatMap((own) => logEntry(own) ?? []);
}
