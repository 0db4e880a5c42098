import { app } from "../frame/app.mjs";
import { plainNumber } from "../rules/own_limits.mjs";

/** @import { Values } from "../rules/types.mjs" */

/** What this workshop has entered about its safety: an invented one's rules decide nothing here. @returns {Values} */
export const ownValues = () => (app.heads.has("safety:safety") ? app.state.safety?.[0]?.values : undefined) ?? {};

/** A whole number of the form, within its limits. @param {string} name @param {number} most @returns {number | null} null where it is not set */
function whole(name, most) {
  const number = plainNumber((ownValues()[name] ?? "").trim());
  return Number.isInteger(number) && number >= 1 && number <= most ? number : null;
}

/** After how many months training is renewed here; null where that is not set. */
export const trainingMonths = () => whole("training_months", 60);

/** After how many days the eyewash is run: the standard's, or fewer. @param {number} standard */
export const eyewashDays = (standard) => whole("eyewash_days", standard) ?? standard;

/** After how many months the eyewash is inspected: the standard's, or fewer. @param {number} standard */
export const eyewashMonths = (standard) => whole("eyewash_months", standard) ?? standard;
