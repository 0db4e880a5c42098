/** As much of a page as its scripts ask for before they do anything. */
import assert from "node:assert/strict";

export const values = new Map();
globalThis.localStorage = {
  getItem: (key) => values.get(key) ?? null, setItem: (key, value) => values.set(key, value), removeItem: (key) => values.delete(key),
};

/** The bar about records that cannot be read. */
export const text = { textContent: "" };
export const buttons = { again: { dataset: { unreadIf: "store-slow" } }, without: { dataset: { unreadIf: "store-lost" } } };
export const bar = {
  hidden: true,
  scrollIntoView() {},
  querySelector: (selector) => (selector === "[data-unread-text]" ? text : null),
  querySelectorAll: () => Object.values(buttons),
};
export const flags = new Set();
const root = {
  dataset: {},
  toggleAttribute: (name, on) => (on ? flags.add(name) : flags.delete(name)),
  removeAttribute: (name) => flags.delete(name),
};
globalThis.document = {
  documentElement: root,
  addEventListener() {},
  getElementById: (id) => (id === "unread" ? bar : null),
  querySelector: () => null,
  querySelectorAll: () => [],
};
globalThis.HTMLTemplateElement = class {};
globalThis.CSS = { escape: (given) => given };
globalThis.BroadcastChannel = undefined;
globalThis.navigator ??= {};
// No Python: that way of starting it does not exist.
globalThis.sessionStorage = { getItem: () => "none", setItem() {} };
globalThis.Worker = class {
  addEventListener() {}
  postMessage() {}
  terminate() {}
};
globalThis.matchMedia = () => ({ matches: false, addEventListener() {} });
globalThis.addEventListener ??= () => {};
globalThis.dispatchEvent ??= () => {};

/** Until something is so. @param {() => boolean} so */
export async function until(so) {
  for (let waited = 0; !so(); waited += 1) {
    assert.ok(waited < 400, "waited in vain");
    await new Promise((resolve) => setTimeout(resolve, 10));
  }
}
