/** What stands folded in an answer. */
const FOLDED = "main :is([data-answer], .issued) details:not([open])";

/** Paper can't be tapped open: what is folded is printed open, and folded again afterwards. */
export function unfoldToPrint() {
  /** @type {HTMLDetailsElement[]} */
  let opened = [];
  addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll(/** @type {"details"} */ (FOLDED))];
    for (const part of opened) part.open = true;
  });
  addEventListener("afterprint", () => {
    for (const part of opened) part.open = false;
    opened = [];
  });
}
