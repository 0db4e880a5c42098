import { word } from "../frame/words.mjs";
import { StoreError } from "../store/database.mjs";

/** What a page of copies, or a screen that offers one, says of the work on it. */

/** @param {string} key @param {Record<string, string | number>} [filled] */
export function tell(key, filled) {
  for (const place of document.querySelectorAll("[data-copy-status]")) place.textContent = word(key, filled);
  progress(null);
}

/** The same after a tap. @param {string} key @param {Record<string, string | number>} [filled] */
export function say(key, filled) {
  tell(key, filled);
  // What stood above it may just have gone, and the page with it.
  for (const place of document.querySelectorAll("[data-copy-status]")) place.scrollIntoView({ block: "nearest" });
}

/** How far long work has got. @param {number | null} share null: there is none */
export function progress(share) {
  for (const bar of document.querySelectorAll(/** @type {"progress"} */ ("[data-copy-progress]"))) {
    bar.hidden = share === null;
    bar.value = share ?? 0;
  }
}

/** @param {unknown} error */
export const reasonOf = (error) => (error instanceof StoreError ? word(error.code) : String(error));
