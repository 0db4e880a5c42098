// Run by tests/answers/test_recovery_cases.py: what the page makes of blocks, one answer each.
import { readFileSync } from "node:fs";
import { argv } from "node:process";
import { foldBlock } from "../../site/static/js/rules/block.mjs";
import { isAsDeclared } from "../../site/static/js/rules/schema.mjs";

Object.assign(globalThis, {
  HTMLTemplateElement: class {},
  CSS: { escape: String },
  document: { documentElement: {}, getElementById: () => null, querySelector: () => null },
});
const { onDisplay, pendingKey } = await import("../../site/static/js/scale/view.mjs");

const answers = JSON.parse(readFileSync(argv[2], "utf8")).map(({ steps, events, shown }) => {
  const fold = foldBlock(steps, events);
  const step = shown && onDisplay(fold, events, shown);
  return {
    keys: fold.steps.map(({ key }) => key),
    done: [...fold.done.keys()].sort(),
    current: fold.steps[fold.index]?.key ?? null,
    pending: pendingKey(fold, events),
    taken_in: events.every((event) => isAsDeclared({ ...event, subject: "block:QM-1/1" })),
    shows: step && [step.target, step.low, step.high],
  };
});
console.log(JSON.stringify(answers));
