/** What was unfolded on a page is so again when one comes back to it, and when its answer is drawn anew. For this tab alone. */

const OPEN = "tarewell-folds";

/** @returns {string[]} */
function kept() {
  try {
    return JSON.parse(sessionStorage.getItem(OPEN) ?? "[]");
  } catch {
    return [];
  }
}

document.addEventListener("toggle", ({ target }) => {
  const fold = target instanceof HTMLDetailsElement ? target.dataset.fold : undefined;
  if (fold === undefined) return;
  const others = kept().filter((each) => each !== fold);
  try {
    sessionStorage.setItem(OPEN, JSON.stringify(/** @type {HTMLDetailsElement} */ (target).open ? [...others, fold] : others));
  } catch {
    // Then it opens folded.
  }
}, { capture: true });

/** Unfolds what was. */
export function openFolds() {
  for (const fold of document.querySelectorAll(/** @type {"details"} */ ("details[data-fold]"))) {
    if (kept().includes(fold.dataset.fold ?? "")) fold.open = true;
  }
}
