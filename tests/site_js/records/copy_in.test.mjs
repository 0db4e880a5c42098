import "../database_for_tests.mjs";
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { newEvent } from "../../../site/static/js/store/events.mjs";
import { copyOf } from "../copies_for_tests.mjs";
import { allEvents, freshDatabase } from "../database_for_tests.mjs";
import { until } from "../page_for_tests.mjs";

/** As much of the page of copies as loading one needs. */
class Part {
  constructor() {
    Object.assign(this, { hidden: true, disabled: false, textContent: "", value: "", files: [], children: [], heard: {}, onclick: null });
  }
  addEventListener(name, work) {
    this.heard[name] = work;
  }
  querySelector() {
    return null;
  }
  replaceChildren(...children) {
    this.children = children;
  }
  appendChild(child) {
    this.children.push(child);
    return child;
  }
  append(...children) {
    this.children.push(...children);
  }
  scrollIntoView() {}
}
const parts = Object.fromEntries(["", "-locked", "-preview", "-confirm"].map((name) => [`[data-import${name}]`, new Part()]));
const [input, preview, confirm, status] = [parts["[data-import]"], parts["[data-import-preview]"], parts["[data-import-confirm]"], new Part()];
Object.assign(globalThis.document, {
  querySelector: (selector) => parts[selector] ?? null,
  querySelectorAll: (selector) => (selector === "[data-copy-status]" ? [status] : []),
  createElement: () => new Part(),
});

const { watchLoading } = await import("../../../site/static/js/records/copy_in.mjs");
watchLoading(() => {});

const mould = (name) => newEvent("saved", `mould:${name}`, { values: { name } });

/** A file that takes its time: its parts come once `go` is called. @param {Blob} blob */
function slow(blob) {
  let go;
  const waits = new Promise((resolve) => (go = resolve));
  return { go, size: blob.size, slice: (...range) => ({ arrayBuffer: () => waits.then(() => blob.slice(...range).arrayBuffer()) }) };
}
const choose = (file) => {
  input.files = [file];
  return input.heard.change();
};
const moment = () => new Promise((resolve) => setTimeout(resolve, 60));

beforeEach(async () => {
  await freshDatabase();
  for (const part of [...Object.values(parts), status]) Object.assign(part, new Part(), { heard: part.heard });
});

for (const [what, text] of Object.entries({ "a good one": await copyOf([mould("slow")]), "a damaged one": "{" })) {
  test(`what was chosen last is shown and taken, though the one before it, ${what}, is read later`, async () => {
    const before = slow(new Blob([text]));
    choose(before);
    await moment();
    const quick = mould("quick");
    choose(new Blob([await copyOf([quick])]));
    await until(() => !confirm.hidden);
    before.go();
    await moment();
    // The words are not there in this page: the key stands for them.
    assert.equal(status.textContent, "import-adds");
    assert.equal(preview.hidden, false);
    await confirm.onclick();
    assert.equal(status.textContent, "import-done");
    assert.deepEqual(await allEvents(), [quick]);
  });
}

test("a file that is another one at the tap than it was at the look is not taken, and that is said", async () => {
  const file = { now: new Blob([await copyOf([mould("a")])]), get size() { return this.now.size; }, slice(...range) { return this.now.slice(...range); } };
  choose(file);
  await until(() => !confirm.hidden);
  file.now = new Blob([await copyOf([mould("b")])]);
  await confirm.onclick();
  assert.equal(status.textContent, "import-changed");
  assert.deepEqual([await allEvents(), input.disabled], [[], false]);
});

test("nothing else can be chosen while a copy is taken in", async () => {
  choose(new Blob([await copyOf([mould("a")])]));
  await until(() => !confirm.hidden);
  const taking = confirm.onclick();
  assert.ok(input.disabled);
  await taking;
  assert.equal(input.disabled, false);
});
