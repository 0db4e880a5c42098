import { clock, utc } from "./clock.mjs";
import { patience, transact } from "./database.mjs";

/** @import { Values } from "../rules/types.mjs" */

/** @import { Draft } from "./database.mjs" */

/** @param {string} key @param {number} [limit] [ms] @returns {Promise<Draft | undefined>} */
export const loadDraft = (key, limit = patience.step) =>
  transact("readonly", (transaction) => transaction.objectStore("drafts").get(key), limit);

/** @param {string} key @param {Values} values @param {string | null} base @returns {Promise<void>} */
export const storeDraft = (key, values, base) =>
  transact("readwrite", async (transaction) => {
    await transaction.objectStore("drafts").put({ key, values, base, at: utc(clock.now()) });
  });

/** @param {string} key @returns {Promise<void>} */
export const dropDraft = (key) =>
  transact("readwrite", async (transaction) => {
    await transaction.objectStore("drafts").delete(key);
  });

/** Pause after the last key before the draft is written; with the write itself it stays under 300 ms. [ms] */
const PAUSE = 200;

/** Keeps one form's unsaved text. Nothing here waits for the page to be closed: no such event is certain. */
export class DraftKeeper {
  /**
   * @param {() => Promise<void>} store
   * @param {(error: unknown) => void} failed
   */
  constructor(store, failed) {
    this.store = store;
    this.failed = failed;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
  }

  /** The text has changed. */
  touch() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.flush(), PAUSE);
  }

  /** Writes now, if something waits to be written. */
  async flush() {
    if (this.timer === undefined) return;
    this.cancel();
    await this.store().catch(this.failed);
  }

  /** Forgets what waits to be written. */
  cancel() {
    clearTimeout(this.timer);
    this.timer = undefined;
  }
}
