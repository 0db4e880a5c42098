/** The two flags that early.js reads before the first paint; the database stays the only truth. */

/** @param {string} key @param {string} value */
function remember(key, value) {
  try {
    localStorage.setItem(key, value);
  } catch {
    // Without the flag only the first paint differs.
  }
}

/** From now on the answers built into the pages may differ from the user's. */
export function markOwn() {
  if (document.documentElement.dataset.own === undefined) document.documentElement.dataset.own = "";
  remember("tarewell-own", "1");
}

/** The address names just what was built into this page, so it may be seen. */
export function unmarkOwn() {
  delete document.documentElement.dataset.own;
}

/** @param {string} units */
export function markUnits(units) {
  document.documentElement.dataset.units = units;
  remember("tarewell-units", units);
  for (const button of document.querySelectorAll("[data-set-units]")) {
    button.setAttribute("aria-pressed", String(button.getAttribute("data-set-units") === units));
  }
}
