// A button that asks for a second press is, after it, as it was: its next press asks again.
import assert from "node:assert/strict";
import { test } from "node:test";
import "../page_for_tests.mjs";

const { confirmed } = await import("../../../site/static/js/frame/confirmed.mjs");

test("after the confirming press the button says what it said, and the next press waits as long as any", (context) => {
  context.mock.timers.enable({ apis: ["setTimeout"] });
  let now = 1000;
  context.mock.method(performance, "now", () => now);
  const pass = (ms) => {
    now += ms;
    context.mock.timers.tick(ms);
  };
  const button = { dataset: {}, textContent: "Delete" };
  assert.equal(confirmed(button), false);
  assert.equal(button.textContent, "press-again");
  pass(100);
  assert.equal(confirmed(button), false, "the second half of a double tap");
  pass(900);
  assert.equal(confirmed(button), true);
  assert.equal(button.textContent, "Delete");
  pass(3000);
  assert.equal(confirmed(button), false);
  // When the first press would have been forgotten, the new one is not.
  pass(3000);
  assert.equal(button.textContent, "press-again");
  assert.equal(confirmed(button), true);
  assert.equal(confirmed(button), false);
  pass(7000);
  assert.deepEqual([button.textContent, button.dataset.armed], ["Delete", undefined]);
});
