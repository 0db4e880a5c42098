// Run by tests/bench/trace.py: what the page picks for each code out of all records, and how long that takes [ms].
import { readFileSync } from "node:fs";
import { argv } from "node:process";
import { picked } from "../../site/static/js/rules/trace.mjs";

const { codes, ...told } = JSON.parse(readFileSync(argv[2], "utf8"));
console.log(JSON.stringify(codes.map((code) => {
  const began = performance.now();
  const { entries, packed } = picked(code, told);
  return { ms: performance.now() - began, entries: entries.map((entry) => entry.code), packed: packed.map(({ id }) => id) };
})));
