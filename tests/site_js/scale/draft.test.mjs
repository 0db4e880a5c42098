// Digits at the scale: those of the step in hand and those of a correction of another step wait for each other.
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { loadDraft } from "../../../site/static/js/store/drafts.mjs";
import { freshDatabase } from "../database_for_tests.mjs";
import "../page_for_tests.mjs";

const { correctionOf, Draft } = await import("../../../site/static/js/scale/draft.mjs");

const KEY = "scale:block:QM-1/1";

/** The draft as the next page finds it. */
async function reloaded(draft) {
  await draft.flush();
  const again = new Draft(KEY, () => null);
  await again.load();
  return again;
}

/** Some digits at oil:1, while those of oil:0 are being corrected. */
function inBoth() {
  const draft = new Draft(KEY, () => null);
  draft.begin("oil:1");
  draft.set("oil:1", { typed: "10.0" });
  draft.begin(correctionOf("oil:0"));
  draft.set(correctionOf("oil:0"), { typed: "15.7" });
  return draft;
}

beforeEach(freshDatabase);

test("a correction at another step leaves the digits typed at the step in hand", async () => {
  const draft = await reloaded(inBoth());
  assert.deepEqual([draft.of("oil:1").typed, draft.of("correct:oil:0").typed], ["10.0", "15.7"]);
  await draft.finish("oil:0");
  assert.equal((await reloaded(draft)).of("oil:1").typed, "10.0");
});

test("a correction that is given up, or left for the step in hand, leaves both as they are", async () => {
  const draft = await reloaded(inBoth());
  await draft.finish("oil:1");
  assert.equal((await reloaded(draft)).of("correct:oil:0").typed, "15.7");
  const left = inBoth();
  await left.forget([correctionOf("oil:0")]);
  const again = await reloaded(left);
  assert.deepEqual([again.begun("oil:1"), again.begun("correct:oil:0")], [true, false]);
});

test("once all is done nothing is left of it, and of two steps only the one in hand is kept", async () => {
  const draft = inBoth();
  draft.begin("oil:2");
  assert.deepEqual([draft.begun("oil:1"), draft.of("oil:2").typed], [false, ""]);
  await draft.finish("oil:0");
  assert.equal(draft.begun("oil:2"), false);
  assert.equal(await loadDraft(KEY), undefined);
});

test("a question that is answered costs neither digits nor another reason", async () => {
  const draft = inBoth();
  draft.setReason("ready:", { why: "", text: "First day" });
  draft.setReason("reason:leave", { why: "", text: "Slow valve" });
  await draft.forget([], ["ready:"]);
  const again = await reloaded(draft);
  assert.equal(again.of("oil:1").typed, "10.0");
  assert.deepEqual(Object.keys(again.reasons), ["reason:leave"]);
});
