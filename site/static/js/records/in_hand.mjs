import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { blocksInHand } from "../store/events.mjs";

/** How many are listed on Home; the page at the scale lists more. */
const SHOWN = 6;

/** Lists the blocks that are begun and not closed. */
export async function showInHand() {
  const place = /** @type {HTMLElement | null} */ (document.querySelector("[data-in-hand]"));
  const list = place?.querySelector("ul");
  if (!place || !list) return;
  const blocks = await untilRead(() => blocksInHand(SHOWN), () => []);
  list.replaceChildren(...blocks.map(({ code, block }) => {
    const item = document.createElement("li");
    const link = item.appendChild(document.createElement("a"));
    link.href = `${place.dataset.scaleUrl}#${encodeURIComponent(code)}/${block}`;
    link.textContent = `${code}, ${word("block-n", { n: block })}`;
    return item;
  }));
  place.hidden = blocks.length === 0;
}
