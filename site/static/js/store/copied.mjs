import { clock, localTime } from "./clock.mjs";
import { named } from "./mode.mjs";

/** When records last went out in a copy, how many, and how many blocks were closed by then. Kept outside the database, so that no copy takes this phone's date to another. */
const KEY = named("copied");

/** @param {{records: number, closed: number}} then */
export function noteCopy({ records, closed }) {
  try {
    localStorage.setItem(KEY, JSON.stringify({ local: localTime(clock.now()), records, closed }));
  } catch {
    // The page then says that the last copy is not known.
  }
}

/** The last copy; null where there is none. Builds that noted no closed blocks: as many as there are. @returns {{local: string, records: number, closed?: number} | null} */
export function lastCopy() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "null");
    return typeof kept?.local === "string" && Number.isInteger(kept.records) ? kept : null;
  } catch {
    return null;
  }
}
