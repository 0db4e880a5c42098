import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

/** The browser's small store: nobody has chosen anything on this device. */
const values = new Map();
const store = { getItem: (key) => values.get(key) ?? null, setItem: (key, value) => values.set(key, value) };
globalThis.localStorage = store;

const { freshDatabase } = await import("../database_for_tests.mjs");
const { append, newEvent } = await import("../../../site/static/js/store/events.mjs");
const { readCopy, writeCopy } = await import("../../../site/static/js/store/backup.mjs");
const { ownHolds } = await import("../../../site/static/js/store/database.mjs");

beforeEach(async () => {
  values.clear();
  globalThis.localStorage = store;
  await freshDatabase();
});

let pages = 0;
/** The module as a page that is opened now has it. */
const opened = () => import(`../../../site/static/js/store/mode.mjs?${(pages += 1)}`);

test("where nobody has chosen, records that are known to be kept decide", async () => {
  assert.equal((await opened()).mode, "practice");
  values.set("tarewell-kept", "0");
  assert.equal((await opened()).mode, "practice");
  values.set("tarewell-practice-kept", "40");
  assert.equal((await opened()).mode, "practice", "practice is no record");
  values.set("tarewell-kept", "1");
  assert.equal((await opened()).mode, "own");
});

test("what was chosen counts, whatever is kept; what is no mode is no choice", async () => {
  for (const wanted of ["own", "practice"]) {
    for (const kept of ["0", "7"]) {
      values.set("tarewell-kept", kept);
      assert.ok((await opened()).chooseMode(wanted));
      const { mode, chosenMode } = await opened();
      assert.deepEqual([mode, chosenMode()], [wanted, wanted]);
    }
  }
  values.set("tarewell-mode", "demo");
  assert.equal((await opened()).chosenMode(), null);
});

test("a page keeps the mode it was opened in; the name of one's own database is fixed for ever", async () => {
  const page = await opened();
  assert.deepEqual([page.named(), page.named("kept")], ["tarewell-practice", "tarewell-practice-kept"]);
  page.chooseMode("own");
  assert.deepEqual([page.mode, page.named()], ["practice", "tarewell-practice"]);
  const next = await opened();
  assert.deepEqual([next.named(), next.named("kept")], ["tarewell", "tarewell-kept"]);
});

test("a browser that keeps nothing stays in practice, and says that it has taken no choice", async () => {
  globalThis.localStorage = { getItem() { throw new DOMException("no", "SecurityError"); }, setItem() { throw new DOMException("no", "SecurityError"); } };
  const page = await opened();
  assert.equal(page.mode, "practice");
  assert.equal(page.chooseMode("own"), false);
});

test("a copy made in practice says so, comes back there, and one of one's own is refused there", async () => {
  const copy = await writeCopy([[newEvent("saved", "mould:m-a", { values: { name: "Tried" } })]]);
  assert.equal(JSON.parse(await copy.text()).format, "tarewell-practice-records");
  assert.equal((await readCopy(copy)).events.length, 1);
  const own = new Blob([(await copy.text()).replace("tarewell-practice-records", "tarewell-records")]);
  assert.deepEqual(await readCopy(own), { refused: "import-of-own" });
});

/** One's own database, by its name and past the app. */
const own = () =>
  new Promise((resolve, reject) => {
    const opening = indexedDB.open("tarewell");
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
  });

test("practice writes beside one's own records and only looks into them", async () => {
  await append(newEvent("saved", "mould:m-a", { values: { name: "Tried" } }));
  assert.equal(await ownHolds("events"), false);
  const database = await own();
  const writing = database.transaction("events", "readwrite");
  writing.objectStore("events").add({ id: "e1", kind: "saved", subject: "mould:m-b" });
  await new Promise((resolve) => (writing.oncomplete = resolve));
  database.close();
  assert.equal(await ownHolds("events"), true);
  assert.equal(await ownHolds("blocks"), false);
  // Nothing is left open that would keep a newer build from its records.
  await new Promise((resolve, reject) => {
    const newer = indexedDB.open("tarewell", 9);
    newer.onsuccess = resolve;
    newer.onblocked = () => reject(new Error("still open"));
  });
  await assert.rejects(ownHolds("events"), { code: "store-ahead" });
});
