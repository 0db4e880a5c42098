/** Beside its answer, on a wide screen, a form needs no fold: there is room for all of it. */

const wide = matchMedia("(min-width: 60rem)");

export function openOnWide() {
  const open = () => {
    for (const fold of document.querySelectorAll(/** @type {"details"} */ ("details[data-open-wide]"))) fold.open ||= wide.matches;
  };
  wide.addEventListener("change", open);
  open();
}

/** What was opened to type in folds again, so that the answer stands first. @param {HTMLFormElement} form */
export function foldAgain(form) {
  const opened = [...form.querySelectorAll(/** @type {"details"} */ ("details[data-open-wide][open]"))];
  if (wide.matches || opened.length === 0) return;
  for (const fold of opened) fold.open = false;
  scrollTo(0, 0);
}
