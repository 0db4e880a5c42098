/** Records that cannot be read are never replaced by anything: the page says so, waits and tries again. */

import { lastCopy } from "../store/copied.mjs";
import { patience, StoreError } from "../store/database.mjs";
import { goOnWithout, merge } from "../store/events.mjs";
import { remembered } from "../store/kept.mjs";
import { confirmed } from "./confirmed.mjs";
import { word } from "./words.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** Pause before it is tried again by itself, and the longest that one reading is given. [ms] */
export const PAUSE = 2000;
const LONGEST = 64_000;

/** What waits for the records. @type {Map<object, {error: StoreError, again: () => void}>} */
const waiting = new Map();

/** Its entry in `waiting` stands for as long as this browser keeps no records. */
const NO_STORE = {};

/** Tries at once all that waits. */
export const readAgain = () => [...waiting.values()].forEach(({ again }) => again());

/** Records that this page still holds: a block in hand at the scale. @type {Set<() => TarewellEvent[]>} */
export const held = new Set();

let puttingBack = false;

/** Stores again what this page still holds and the store has lost: at once, since the page may be left. */
async function putBack() {
  const events = [...held].flatMap((holding) => holding());
  if (puttingBack || events.length === 0) return;
  puttingBack = true;
  await merge(events).catch(() => {});
  puttingBack = false;
}

/** Says why nothing can be read; `key` stands for what waits. @param {object} key @param {StoreError} error @param {() => void} again */
export function sayUnread(key, error, again) {
  waiting.set(key, { error, again });
  if (error.code === "store-lost") void putBack();
  show();
}

/** @param {object} key */
export function sayRead(key) {
  if (waiting.delete(key)) show();
}

/** @param {unknown} error @returns {error is StoreError} Whether this browser keeps no records at all, and never did. */
const isNoStore = (error) =>
  error instanceof StoreError && ["no-store", "store-failed"].includes(error.code) && remembered() === 0;

function show() {
  const [first] = waiting.values();
  const bar = document.getElementById("unread");
  if (!bar) return;
  const appears = bar.hidden && Boolean(first);
  bar.hidden = !first;
  if (!first) return;
  const { code, filled } = first.error;
  const key = isNoStore(first.error) ? "no-store" : code === "no-store" ? "store-failed" : code;
  const text = bar.querySelector("[data-unread-text]");
  if (text) text.textContent = word(`unread-${key}`, filled);
  const copy = bar.querySelector(/** @type {"p"} */ ("[data-unread-copy]"));
  const day = lastCopy()?.local.slice(0, 10);
  if (copy) copy.textContent = code === "store-lost" && day ? word("unread-last-copy", { day }) : "";
  for (const part of bar.querySelectorAll(/** @type {"p"} */ ("[data-unread-if]"))) {
    part.hidden = !(part.dataset.unreadIf ?? "").split(" ").includes(key);
  }
  if (appears && code === "store-lost") bar.scrollIntoView({ block: "nearest" });
}

/**
 * Runs work until it succeeds. Each time it may take longer.
 *
 * @template T
 * @param {(limit: number) => Promise<T>} work
 * @param {(error: StoreError, again: () => void) => void} failed Says so, and sees to it that it is tried again.
 * @param {() => void} ended Called when the waiting is over, whatever came of it.
 * @returns {Promise<T>} Rejects only where trying again cannot help.
 */
export async function untilDone(work, failed, ended) {
  for (let limit = patience.step; ; limit = Math.min(2 * limit, LONGEST)) {
    try {
      const result = await work(limit);
      ended();
      return result;
    } catch (error) {
      if (!(error instanceof StoreError)) {
        ended();
        throw error;
      }
      await new Promise((/** @type {(value?: undefined) => void} */ resolve) => failed(error, resolve));
    }
  }
}

/**
 * Reads until that succeeds; a reading that took too long is given more time. Meanwhile the page says why it waits.
 *
 * @template T
 * @param {(limit: number) => Promise<T>} work
 * @param {() => T} [otherwise] What stands in a browser that keeps no records at all; left out, it waits there too.
 * @returns {Promise<T>} Rejects only where trying again cannot help.
 */
export function untilRead(work, otherwise) {
  const key = {};
  const reading = async (/** @type {number} */ limit) => {
    try {
      const result = await work(limit);
      sayRead(NO_STORE);
      return result;
    } catch (error) {
      if (!otherwise || !isNoStore(error)) throw error;
      sayUnread(NO_STORE, error, () => {});
      return otherwise();
    }
  };
  const failed = (/** @type {StoreError} */ error, /** @type {() => void} */ again) => {
    sayUnread(key, error, again);
    setTimeout(again, PAUSE);
  };
  return untilDone(reading, failed, () => sayRead(key));
}

/** The buttons of the bar. */
export function watchUnread() {
  const bar = document.getElementById("unread");
  bar?.querySelector("[data-read-again]")?.addEventListener("click", readAgain);
  bar?.querySelector("[data-go-on-without]")?.addEventListener("click", async ({ currentTarget }) => {
    if (!(currentTarget instanceof HTMLElement) || !confirmed(currentTarget)) return;
    await goOnWithout().catch(() => {});
    readAgain();
  });
}
