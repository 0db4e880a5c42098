import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { IdTaken, merge, newEvent, Unfit } from "../../../site/static/js/store/events.mjs";
import { allEvents, FAILURES, failAt, freshDatabase, watch } from "../database_for_tests.mjs";

/** As much of a page as the bar needs. */
const retry = { onclick: null };
const text = { textContent: "" };
const bar = {
  hidden: true,
  querySelector: (selector) => (selector === "[data-retry]" ? retry : text),
};
const said = { textContent: "", hidden: true };
class Page {
  documentElement = { dataset: {} };
  getElementById = (id) => (id === "not-saved" ? bar : null);
  // The words are not there in this page: their key stands for them, or what the test puts there.
  querySelector = (selector) => (selector === "[data-notice]" ? said : selector === '[data-word="not-fit-long"]' ? { textContent: "{n} of {most}" } : null);
  querySelectorAll = () => [];
}
globalThis.document = new Page();
globalThis.HTMLTemplateElement = class {};
globalThis.CSS = { escape: (given) => given };
globalThis.BroadcastChannel = undefined;
globalThis.navigator ??= {};

const { insist, keep } = await import("../../../site/static/js/frame/saved.mjs");
const { patience } = await import("../../../site/static/js/store/database.mjs");
// A busy machine is no fault of the code.
patience.open = patience.step = 20_000;

const moment = () => new Promise((resolve) => setTimeout(resolve, 30));
const person = () => newEvent("saved", "person:p", { values: { name: "Q" } });

beforeEach(async () => {
  bar.hidden = true;
  await freshDatabase();
});

for (const [name, failure] of Object.entries(FAILURES)) {
  test(`${name} at each call in turn: stored in the end, and the bar stands for as long as it is not`, async () => {
    for (let nth = 1; ; nth += 1) {
      await freshDatabase();
      failAt(nth, failure);
      let stored = false;
      const keeping = keep(person(), null).then(() => (stored = true));
      // The connection may be given up in the middle of a step; the wait for it is short.
      for (let waited = 0; !stored && bar.hidden && waited < 100; waited += 1) await moment();
      const hit = watch.hit;
      failAt(0, failure);
      assert.notEqual(stored, !bar.hidden, `call ${nth}: neither stored nor said, or both`);
      if (!stored) retry.onclick();
      await keeping;
      assert.ok(bar.hidden);
      assert.equal((await allEvents()).length, 1, `call ${nth}`);
      if (!hit) break;
    }
  });
}

test("while it goes on failing the bar stays", async () => {
  const failure = () => failAt(2, (target) => FAILURES["no room"](target));
  failure();
  const keeping = keep(person());
  await moment();
  assert.equal(bar.hidden, false);
  failure();
  retry.onclick();
  await moment();
  assert.equal(bar.hidden, false);
  assert.equal(text.textContent, "not-saved");
  failAt(0, () => {});
  retry.onclick();
  await keeping;
  assert.equal(bar.hidden, true);
});

test("what trying again cannot help is handed on", async () => {
  await assert.rejects(insist(() => Promise.reject(new IdTaken("x"))), IdTaken);
  assert.equal(bar.hidden, true);
});

test("what no copy could bring back is not stored, and why is said at once", async () => {
  const late = { ...person(), at: "2099-12-31T23:59:59.999Z" };
  await merge([late]);
  for (const [event, words] of [
    // shared/records/shapes.json: a name has at most 200 characters, a field of a form 5000.
    [newEvent("inci_confirmed", "inci:clay@f-1", { person: "Q", name: "w".repeat(201) }), "201 of 200"],
    [newEvent("saved", "person:q", { values: { name: "w".repeat(5001) } }), "5001 of 5000"],
    [person(), "not-fit-late"],
    [newEvent("closed", "block:QM-1/1", { person: "Q", outcome: "spilt" }), "fault"],
  ]) {
    await assert.rejects(keep(event), Unfit);
    assert.deepEqual([said.textContent, said.hidden, bar.hidden], [words, false, true]);
  }
  assert.deepEqual(await allEvents(), [late]);
});
