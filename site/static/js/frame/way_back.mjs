/** The way back to the block at the scale, for whoever left it to do what was missing. Kept for this tab alone. */

const PLACE = "tarewell-way-back";

/** @param {string} where How the block is called, for people. */
export function keepWayBack(where) {
  try {
    sessionStorage.setItem(PLACE, JSON.stringify({ to: location.pathname + location.hash, where }));
  } catch {
    // The browser's own Back button is still there.
  }
}

/** The block is closed: nobody goes back to it. */
export function forgetWayBack() {
  try {
    sessionStorage.removeItem(PLACE);
  } catch {
    // As above.
  }
}

/** @returns {{to: string, where: string} | null} */
export function wayBack() {
  try {
    const kept = JSON.parse(sessionStorage.getItem(PLACE) ?? "null");
    // A path of this site, and no other address.
    return /^\/(?!\/)/.test(kept?.to) ? kept : null;
  } catch {
    return null;
  }
}
