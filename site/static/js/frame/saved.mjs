import { append, Unfit } from "../store/events.mjs";
import { markChosen, markOwn } from "./flags.mjs";
import { fault, notice } from "./notice.mjs";
import { tellOthers } from "./tabs.mjs";
import { PAUSE, sayRead, sayUnread, untilDone } from "./unread.mjs";
import { word } from "./words.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { StoreError } from "../store/database.mjs" */

/** What stores; replaceable in tests. */
export const store = { append };

/** Work that failed to be stored, until it is. @type {Map<object, {error: StoreError, again: () => void}>} */
const failures = new Map();

function showBar() {
  const bar = document.getElementById("not-saved");
  const text = bar?.querySelector("[data-not-saved-text]");
  const first = failures.values().next().value;
  if (!bar || !text) return;
  bar.hidden = !first;
  if (!first) return;
  text.textContent = word("not-saved", { reason: word(first.error.code, first.error.filled) });
  const retry = bar.querySelector(/** @type {"button"} */ ("[data-retry]"));
  if (retry) retry.onclick = () => [...failures.values()].forEach(({ again }) => again());
}

/** Faults that pass by themselves, or that somebody puts right elsewhere. */
const PASSING = ["store-slow", "store-blocked", "store-lost"];

/**
 * Runs work that stores something until it succeeds. While it fails, the bar NOT SAVED stands on the page; its button tries
 * again. A fault that passes by itself is tried again without a tap.
 *
 * @template T
 * @param {() => Promise<T>} work
 * @returns {Promise<T>} Rejects only where trying again cannot help (a `Refusal`).
 */
export function insist(work) {
  const key = {};
  const failed = (/** @type {StoreError} */ error, /** @type {() => void} */ again) => {
    failures.set(key, { error, again });
    showBar();
    if (error.code === "store-lost") sayUnread(key, error, again);
    if (PASSING.includes(error.code)) setTimeout(again, PAUSE);
  };
  const ended = () => {
    failures.delete(key);
    showBar();
    sayRead(key);
  };
  return untilDone(work, failed, ended);
}

/**
 * Stores an event, or keeps saying that it is not stored.
 *
 * @param {TarewellEvent} event
 * @param {string | null} [after] See `append`.
 * @param {TarewellEvent[]} [also] See there too.
 */
export async function keep(event, after, also) {
  const stored = await insist(() => store.append(event, after, also)).catch((error) => {
    if (error instanceof Unfit) sayUnfit(error);
    throw error;
  });
  markChosen();
  markOwn();
  tellOthers();
  void askToPersist();
  return stored;
}

/** Says why something is not stored: what somebody typed, a clock, or a fault of ours. @param {Unfit} unfit */
function sayUnfit({ message, misfit: { field, length, most } }) {
  if (length !== undefined && most !== undefined) notice("not-fit-long", { n: length, most });
  else if (field === "at") notice("not-fit-late");
  else fault(word("not-fit", { field }), message);
}

/** Asks the browser to keep the records when room gets short, and says what it answered. */
async function askToPersist() {
  const granted = await navigator.storage?.persist?.().catch(() => undefined);
  showPersistence(granted);
}

/** @param {boolean | undefined} granted */
function showPersistence(granted) {
  const key = granted === undefined ? "unknown" : granted ? "granted" : "refused";
  for (const place of document.querySelectorAll("[data-persistence]")) place.textContent = word(`persistence-${key}`);
}

/** Says whether the browser has promised to keep the records. */
export const tellPersistence = async () => showPersistence(await navigator.storage?.persisted?.().catch(() => undefined));
