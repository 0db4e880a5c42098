import { StoreError } from "../store/database.mjs";
import { blocksInHand } from "../store/events.mjs";
import { notice } from "./notice.mjs";
import { word } from "./words.mjs";

/** How many are listed on Home; the page at the scale lists more. */
const SHOWN = 6;

/** Lists the blocks that are begun and not closed. */
export async function showInHand() {
  const place = /** @type {HTMLElement | null} */ (document.querySelector("[data-in-hand]"));
  const list = place?.querySelector("ul");
  if (!place || !list) return;
  try {
    const blocks = await blocksInHand(SHOWN);
    list.replaceChildren(...blocks.map(({ code, block }) => {
      const item = document.createElement("li");
      const link = item.appendChild(document.createElement("a"));
      link.href = `${place.dataset.scaleUrl}#${encodeURIComponent(code)}/${block}`;
      link.textContent = `${code}, ${word("block-n", { n: block })}`;
      return item;
    }));
    place.hidden = blocks.length === 0;
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
    notice(error.code === "store-failed" ? "no-store" : error.code);
  }
}
