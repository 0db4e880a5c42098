/** Several tabs of one browser: they tell each other of changes, and only one edits a thing at a time. */

import { named } from "../store/mode.mjs";

const NAME = named();

/** @type {BroadcastChannel | undefined} */
let channel;

const open = () => (channel ??= typeof BroadcastChannel === "undefined" ? undefined : new BroadcastChannel(NAME));

const HERE = "tarewell-changed";

/** @type {Set<() => void>} */
const toldListeners = new Set();

/** Tells the other tabs that records have been added. */
export function tellOthers() {
  open()?.postMessage("changed");
  for (const listener of toldListeners) listener();
}

/** Calls back when this page tells the others so. @param {() => void} listener */
export const onTold = (listener) => toldListeners.add(listener);

/** Tells the other parts of this page that records have been added by a file. */
export const tellHere = () => void dispatchEvent(new Event(HERE));

/**
 * Calls back when records have been added: by another tab, by a file, or by anybody while this page lay in the browser's
 * memory.
 *
 * @param {() => void} listener
 */
export function onStored(listener) {
  open()?.addEventListener("message", listener);
  addEventListener(HERE, listener);
  addEventListener("pageshow", (event) => {
    if (event.persisted) listener();
  });
}

/**
 * @param {string} name
 * @param {LockOptions} options
 * @param {() => void} lost Called when another tab takes it over.
 * @returns {Promise<(() => void) | null>} What lets go of it, or null when another tab holds it.
 */
function request(name, options, lost) {
  if (!navigator.locks) return Promise.resolve(() => {});
  return new Promise((resolve) => {
    let held = false;
    const hold = () =>
      new Promise((/** @type {(value?: undefined) => void} */ release) => {
        held = true;
        resolve(release);
      });
    navigator.locks.request(`${NAME}-edit:${name}`, options, hold).catch(() => (held ? lost() : resolve(null)));
  });
}

/** @param {string} name @param {AbortSignal} signal Ends the waiting for it. @param {() => void} lost */
export const hold = (name, signal, lost) => request(name, { signal }, lost);

/** @param {string} name @param {() => void} lost */
export const takeOver = (name, lost) => request(name, { steal: true }, lost);
