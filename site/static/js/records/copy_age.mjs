import { word } from "../frame/words.mjs";
import { clock, localTime } from "../store/clock.mjs";
import { StoreError } from "../store/database.mjs";
import { countEvents } from "../store/events.mjs";
import { named } from "../store/mode.mjs";

/** When records last went out in a copy, and how many. Kept outside the database, so that no copy takes this phone's date to another. */
const KEY = named("copied");

/** A copy has been handed over. @param {number} records */
export function copied(records) {
  try {
    localStorage.setItem(KEY, JSON.stringify({ local: localTime(clock.now()), records }));
  } catch {
    // The page then says that the last copy is not known.
  }
  void showCopyAge();
}

/** @returns {{local: string, records: number} | null} */
function last() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null");
    return typeof kept?.local === "string" && Number.isInteger(kept.records) ? kept : null;
  } catch {
    return null;
  }
}

/** Says how old the last copy is and how many records have come since; nothing where there are none to lose. */
export async function showCopyAge() {
  const places = document.querySelectorAll(/** @type {"section"} */ ("[data-copy-age]"));
  if (places.length === 0) return;
  try {
    const now = await countEvents();
    const kept = last();
    const since = kept ? Math.max(0, now - kept.records) : now;
    const text = kept ? word("copy-last", { day: kept.local.slice(0, 10), n: since }) : word("copy-never", { n: now });
    for (const place of places) {
      place.hidden = now === 0;
      /** @type {HTMLElement} */ (place.querySelector("[data-copy-age-text]")).textContent = text;
    }
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
  }
}
