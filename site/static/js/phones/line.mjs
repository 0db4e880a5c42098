/** The one line that says how this phone stands with the shop's others, at the same place on every page. Nothing where it is in no shop. */

import { watchPhones } from "../shop/ask.mjs";
import { learnNames } from "../shop/names.mjs";
import { watchShop } from "../shop/state.mjs";
import { countWords, howWords } from "./words.mjs";

/** @import { ShopState } from "../shop/state.mjs" */

/** @type {ShopState | null} */
let shown = null;

function show() {
  const line = /** @type {HTMLElement | null} */ (document.querySelector("[data-shop-line]"));
  if (!line) return;
  line.hidden = shown?.paired !== true;
  if (!shown?.paired) return;
  const words = [howWords(shown), countWords("waiting", shown.waiting)].filter(Boolean).join(" ");
  for (const told of line.querySelectorAll("[data-shop-words]")) told.textContent = words;
}

/** Watches it, and who is called what, as long as the page is open. */
export function watchLine() {
  let learnt = false;
  watchShop((state) => {
    shown = state;
    show();
    // What people call the others is told where the server can't be asked.
    if (!learnt && state.state === "together") void learnNames().then((is) => (learnt ||= is));
  });
  watchPhones(() => void learnNames());
  addEventListener("tarewell-language", show);
}
