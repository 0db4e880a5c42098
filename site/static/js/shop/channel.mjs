/** What the tabs of one phone tell each other about the shop server: one of them has the connection. */

import { named } from "../store/mode.mjs";

/**
 * @typedef {import("./state.mjs").Told} Told
 * @typedef {import("../rules/heard.mjs").Reading} Reading
 *
 * @typedef {object} Word        What one tab says; each says one thing.
 * @property {Told} [told]       how the connection stands, by the tab that has it
 * @property {boolean} [seen]    said with it: whether that tab is looked at
 * @property {boolean} [who]     that tab is asked for it
 * @property {boolean} [changed] this phone has been paired, or has left: what stands in the store is to be read again
 * @property {boolean} [phones]  the list of phones has changed
 * @property {Reading} [reading] of a scale
 * @property {boolean} [scales]  some tab shows the reading of a scale
 * @property {{id: string, subject: "phones" | "deed", body: object | null}} [question]
 * @property {{id: string, reply: any}} [answer]  null where the server did not hear it
 */

/** Of this tab: a channel does not bring it what it says itself. @type {Set<(word: Word) => void>} */
const here = new Set();

/** @type {BroadcastChannel | undefined} */
let channel;

const open = () => (channel ??= typeof BroadcastChannel === "undefined" ? undefined : new BroadcastChannel(named("shop")));

/** Says it to every tab, this one too. @param {Word} word */
export function say(word) {
  open()?.postMessage(word);
  for (const listener of here) listener(word);
}

/** @param {(word: Word) => void} listener @returns {() => void} What ends it. */
export function onWord(listener) {
  const there = (/** @type {MessageEvent} */ { data }) => listener(data);
  open()?.addEventListener("message", there);
  here.add(listener);
  return () => {
    channel?.removeEventListener("message", there);
    here.delete(listener);
  };
}
