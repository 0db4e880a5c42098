/**
 * What the emergency card shows before and without all else: a small copy, never the truth. See emergency.js. The card is
 * real also while somebody practices, so it shows one's own workshop and nothing that was typed in practice.
 */

import { app, onWorkshop } from "../frame/app.mjs";
import { mode } from "../store/mode.mjs";

/** @import { Workshop } from "../store/workshop.mjs" */

const PLACE = "tarewell-safety";
const EYEWASH = "tarewell-eyewash";
/** What older builds filled in as an example, which may have been saved as it stood; as in calc/workshop/safety_place.py. */
const INVENTED = /Quillmarsh|^On the wall beside the lye tank, left of the door$/m;

/** @param {string} key @param {object | null} value */
function mirror(key, value) {
  if (mode !== "own") return;
  try {
    if (value) localStorage.setItem(key, JSON.stringify(value));
    else localStorage.removeItem(key);
  } catch {
    // Without it the card says what to fill in.
  }
  dispatchEvent(new Event("tarewell-mirror"));
}

/** What the card may show: only what was really entered here, for an invented workshop's address must never be read out. @param {Workshop} workshop */
export function ownPlace({ heads, state }) {
  const item = heads.has("safety:safety") ? state.safety?.[0] : undefined;
  if (!item) return null;
  const { emergency_number = "", address = "", poison_centre = "", eyewash = "", flush_minutes = "" } = item.values;
  const place = { emergency_number, address, poison_centre, eyewash, flush_minutes };
  return Object.values(place).some((text) => INVENTED.test(text)) ? null : place;
}

/** Keeps it true whenever the workshop has been read. */
export const watchPlace = () => onWorkshop(async () => void (app.records === "read" && mirror(PLACE, ownPlace(app))));

/** How the eyewash stands, and the first day on which a check is overdue. @param {{state: string, overdue_from: string}} eyewash */
export const mirrorEyewash = (eyewash) => mirror(EYEWASH, eyewash);
