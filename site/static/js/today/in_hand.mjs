import { screen } from "../frame/stage.mjs";
import { word } from "../frame/words.mjs";
import { inWords } from "../scale/step_words.mjs";
import { SHOWN } from "./blocks.mjs";

/** @import { BlockToday } from "./blocks.mjs" */

/** @param {string} scale The address of the page at the scale. @param {{code: string, block: number}} of */
export const blockAddress = (scale, { code, block }) => `${scale}#${encodeURIComponent(code)}/${block}`;

/** The blocks in hand, each one tap away. @param {BlockToday[]} blocks */
export function showInHand(blocks) {
  const place = /** @type {HTMLElement} */ (document.querySelector("[data-in-hand]"));
  const scale = place.dataset.scaleUrl ?? "";
  /** @type {HTMLElement} */ (place.querySelector("ul")).replaceChildren(...blocks.slice(0, SHOWN).map((each) => screen("in-hand", {
    target: blockAddress(scale, each),
    ...slotsOf(each),
  })));
  /** @type {HTMLElement} */ (place.querySelector("[data-more-in-hand]")).hidden = blocks.length <= SHOWN;
  place.hidden = blocks.length === 0;
}

/** @param {BlockToday} each */
function slotsOf({ code, block, issued, fold }) {
  const { index, steps } = fold;
  const step = steps[index];
  return {
    formula: issued?.formula?.name ?? code,
    block: (issued?.blocks ?? 1) > 1 ? word("block-of", { n: block, of: issued?.blocks ?? 1 }) : word("block-n", { n: block }),
    code,
    progress: steps.length > 0 ? word("step-of", { n: Math.min(index + 1, steps.length), of: steps.length }) : "",
    step: step ? inWords(step).title : "",
  };
}
