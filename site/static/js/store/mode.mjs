import "./seen.mjs";

/**
 * Practice and one's own workshop are kept apart. Each has a database, and what is kept beside that bears the mode in its
 * name. A page keeps the mode in which it was opened, also when another tab chooses the other one.
 */

/** @typedef {"own" | "practice"} Mode */

// Fixed for ever, since a renamed database hides every record a user has. early.js knows these names too.
export const NAMES = { own: "tarewell", practice: "tarewell-practice" };
const CHOSEN = "tarewell-mode";

/** @param {string} key */
function kept(key) {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

/** What was chosen on this device; null where nobody has chosen yet. @returns {Mode | null} */
export function chosenMode() {
  const found = kept(CHOSEN);
  return found === "own" || found === "practice" ? found : null;
}

/** For the pages opened from now on. @param {Mode} wanted @returns {boolean} Whether this browser has taken it. */
export function chooseMode(wanted) {
  try {
    localStorage.setItem(CHOSEN, wanted);
  } catch {
    // A browser that refuses this keeps no records either.
  }
  return chosenMode() === wanted;
}

/**
 * The mode of this page. Where nobody has chosen, it is one's own if records are known to be kept. Whether there are some
 * that nobody has counted is asked by frame/app.mjs.
 *
 * @type {Mode}
 */
export const mode = chosenMode() ?? (Number(kept(`${NAMES.own}-kept`)) > 0 ? "own" : "practice");

/** What is kept for this mode alone: the database, or with a word something beside it. @param {string} [word] */
export const named = (word = "") => NAMES[mode] + (word && `-${word}`);
