import assert from "node:assert/strict";
import { mock, test } from "node:test";
import { untilMade } from "../../../site/static/js/frame/made.mjs";

/** What the page is told while four are made, each taking so long. @param {number} each [ms] */
async function told(each) {
  let now = 0;
  const clock = mock.method(performance, "now", () => now);
  /** @type {(number | null)[]} */
  const shares = [];
  let made = false;
  const make = async (/** @type {(share: number) => void} */ tell) => {
    for (let n = 1; n <= 4; n++) {
      now += each;
      tell(n / 4);
    }
    made = true;
  };
  const found = await untilMade(async () => (made ? ["all"] : null), make, () => [], (share) => shares.push(share));
  clock.mock.restore();
  assert.deepEqual(found, ["all"]);
  return shares;
}

test("what is made in a moment pushes nothing about on the page", async () => {
  assert.deepEqual(await told(100), [null, null]);
});

test("of what takes longer the page says how far it is, and that it is over", async () => {
  assert.deepEqual(await told(300), [null, 0.5, 0.75, 1, null]);
});
