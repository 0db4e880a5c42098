/** A database in memory, whose n-th call can be made to fail in the ways browsers are known to fail. */
import * as fake from "fake-indexeddb";

// Set before the modules under test come in: idb looks for the classes by their global names.
for (const [name, value] of Object.entries(fake)) {
  if (name.startsWith("IDB")) globalThis[name] = value;
}
globalThis.indexedDB = new fake.IDBFactory();

const { disconnect, opener, transact } = await import("../../site/static/js/store/database.mjs");
const { everyEvent } = await import("../../site/static/js/store/events.mjs");

/** An empty database with its stores, and no connection to it. */
export async function freshDatabase() {
  watch.nth = 0;
  await disconnect();
  globalThis.indexedDB = new fake.IDBFactory();
  await transact("readonly", async () => {});
  await disconnect();
}

/** Every event that is stored, in order. */
export async function allEvents() {
  const all = [];
  for await (const some of everyEvent()) all.push(...some);
  return all;
}

/** Keeps the store busy for a while, as another tab does that writes much. Resolves once it does. @param {number} ms */
export async function holdStore(ms) {
  const [{ name }] = await globalThis.indexedDB.databases();
  const opening = globalThis.indexedDB.open(name);
  const database = await new Promise((resolve) => (opening.onsuccess = () => resolve(opening.result)));
  const drafts = database.transaction("drafts", "readwrite").objectStore("drafts");
  const ends = performance.now() + ms;
  await new Promise((resolve) => {
    const on = () => {
      resolve();
      if (performance.now() < ends) drafts.get("").onsuccess = on;
      else database.close();
    };
    drafts.get("").onsuccess = on;
  });
}

/** The call to fail (from 1, 0 for none), how, and how many calls there have been. */
export const watch = { nth: 0, calls: 0, hit: false, fail: () => {} };

/** Makes the n-th call fail. @param {number} nth @param {(target: any) => void} fail */
export function failAt(nth, fail) {
  Object.assign(watch, { nth, calls: 0, hit: false, fail });
}

/** Counts a call and, if it is the one, makes it fail. @param {any} target */
function called(target) {
  watch.calls += 1;
  if (watch.calls !== watch.nth) return;
  watch.hit = true;
  watch.fail(target);
}

const WATCHED = [
  [fake.IDBDatabase, ["transaction"]],
  [fake.IDBTransaction, ["objectStore"]],
  [fake.IDBObjectStore, ["add", "put", "get", "getAll", "getAllKeys", "getKey", "count", "delete", "index"]],
  [fake.IDBIndex, ["getAll", "getKey", "openCursor"]],
  [fake.IDBCursor, ["continue"]],
];
for (const [where, names] of WATCHED) {
  for (const name of names) {
    const real = where.prototype[name];
    where.prototype[name] = function (...given) {
      called(this);
      return real.apply(this, given);
    };
  }
}

const realOpen = opener.open;
opener.open = (...given) => {
  called(null);
  return realOpen(...given);
};

const named = (name) => () => {
  throw new DOMException("made to fail", name);
};

/** @param {any} target */
const transactionOf = (target) => target?.transaction?.abort ? target.transaction : target?.objectStore?.transaction;

/** @param {() => void} work that may come too late to do anything */
function quietly(work) {
  try {
    work();
  } catch {
    // The transaction had ended.
  }
}

/** The failures that were seen in browsers. */
export const FAILURES = {
  "closed connection": named("InvalidStateError"),
  "unknown error": named("UnknownError"),
  "no room": named("QuotaExceededError"),
  "storage refused": named("SecurityError"),
  "transaction aborted by the browser": (target) => transactionOf(target)?.abort(),
  "transaction aborted a moment later": (target) => queueMicrotask(() => quietly(() => transactionOf(target)?.abort())),
  "connection closed under way": (target) => quietly(() => transactionOf(target)?.db.close()),
};
