// What was typed is found again by whoever asks for it, however long another tab keeps the store busy.
import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { patience } from "../../../site/static/js/store/database.mjs";
import { loadDraft, storeDraft } from "../../../site/static/js/store/drafts.mjs";
import { freshDatabase, holdStore } from "../database_for_tests.mjs";
import { bar, until } from "../page_for_tests.mjs";

const { readAgain } = await import("../../../site/static/js/frame/unread.mjs");
const { Unsaved } = await import("../../../site/static/js/forms/unsaved.mjs");
const { Draft } = await import("../../../site/static/js/scale/draft.mjs");
const { Typed } = await import("../../../site/static/js/safety/typed.mjs");

/** Longer than one reading is given here. [ms] */
const BUSY = 300;

beforeEach(async () => {
  patience.step = 2000;
  await freshDatabase();
});

/** Begins to read what the store does not give yet. @template T @param {string} key @param {Record<string, string>} values @param {() => Promise<T>} load */
async function readLate(key, values, load) {
  await storeDraft(key, values, null);
  await holdStore(BUSY);
  patience.step = 100;
  const loading = load();
  await until(() => !bar.hidden);
  return loading;
}

/** @param {Promise<unknown>} loading */
async function arrives(loading) {
  const again = setInterval(readAgain, 50);
  await loading;
  clearInterval(again);
  assert.ok(bar.hidden);
}

const control = (name) => {
  const heard = [];
  return {
    name,
    value: "",
    type: "text",
    addEventListener: (_kind, listener) => heard.push(listener),
    type_in(text) {
      this.value = text;
      for (const listener of heard) listener();
    },
  };
};

test("a form's text is waited for", async () => {
  const unsaved = new Unsaved({ querySelector: () => null }, null, () => {});
  let draft;
  const loading = await readLate("mould#", { name: "Begun" }, () => ({ done: unsaved.load("mould#").then((read) => (draft = read)) }));
  assert.equal(draft, undefined);
  await arrives(loading.done);
  assert.equal(draft.values.name, "Begun");
});

test("digits typed at the scale are waited for", async () => {
  const draft = new Draft("scale:block:QM-1/1", () => null);
  // As builds before this one stored them.
  const loading = await readLate(draft.key, { step: "oil:0", typed: "15.7", first: "" }, () => ({ done: draft.load() }));
  assert.equal(draft.of("oil:0").typed, "");
  await arrives(loading.done);
  assert.equal(draft.of("oil:0").typed, "15.7");
});

test("on a safety page nothing is written over what was not read yet, and what was typed meanwhile stays", async () => {
  const [words, initials] = [control("words"), control("initials")];
  const typed = new Typed({ querySelectorAll: () => [words, initials] }, "walk:1:say");
  const loading = await readLate(typed.key, { words: "In my own words" }, () => ({ done: typed.load() }));
  initials.type_in("AB");
  await typed.keeper.flush();
  patience.step = 2000;
  await arrives(loading.done);
  assert.deepEqual([words.value, initials.value], ["In my own words", "AB"]);
  await typed.leave();
  assert.deepEqual((await loadDraft(typed.key)).values, { words: "In my own words", initials: "AB" });
});
