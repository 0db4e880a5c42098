/** Beside its answer, on a wide screen, a form needs no fold: there is room for all of it. */

const wide = matchMedia("(min-width: 60rem)");

export function openOnWide() {
  const open = () => {
    for (const fold of document.querySelectorAll(/** @type {"details"} */ ("details[data-open-wide]"))) fold.open ||= wide.matches;
  };
  wide.addEventListener("change", open);
  open();
}
