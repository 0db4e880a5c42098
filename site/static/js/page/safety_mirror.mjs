/** What the emergency card shows before and without all else: a small copy, never the truth. See emergency.js. */

/** @import { Workshop } from "../store/workshop.mjs" */

const PLACE = "tarewell-safety";
const EYEWASH = "tarewell-eyewash";

/** @param {string} key @param {object | null} value */
function mirror(key, value) {
  try {
    if (value) localStorage.setItem(key, JSON.stringify(value));
    else localStorage.removeItem(key);
  } catch {
    // Without it the card says what to fill in.
  }
}

/** Only what was really entered here: an invented workshop's address must never be read out. @param {Workshop} workshop */
export function mirrorPlace({ heads, state }) {
  const item = heads.has("safety:safety") ? state.safety?.[0] : undefined;
  if (!item) return mirror(PLACE, null);
  const { emergency_number = "", address = "", poison_centre = "", eyewash = "" } = item.values;
  mirror(PLACE, { emergency_number, address, poison_centre, eyewash });
}

/** The first day on which an eyewash check is overdue. @param {string} overdue_from "2026-12-03" */
export const mirrorEyewash = (overdue_from) => mirror(EYEWASH, overdue_from ? { overdue_from } : null);
