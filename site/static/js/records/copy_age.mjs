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

/** The day of the last copy, "" where there is none, and how many records have come since. @returns {Promise<{last: string, since: number}>} */
export async function copyAge() {
  const now = await countEvents();
  const kept = last();
  return { last: kept?.local.slice(0, 10) ?? "", since: kept ? Math.max(0, now - kept.records) : now };
}

/** Says how old the last copy is and how many records have come since; nothing where there are none to lose. */
export async function showCopyAge() {
  const places = document.querySelectorAll(/** @type {"section"} */ ("[data-copy-age]"));
  if (places.length === 0) return;
  try {
    const { last: day, since: n } = await copyAge();
    const text = day ? word("copy-last", { day, n }) : word("copy-never", { n });
    for (const place of places) {
      place.hidden = !day && n === 0;
      /** @type {HTMLElement} */ (place.querySelector("[data-copy-age-text]")).textContent = text;
    }
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
  }
}
