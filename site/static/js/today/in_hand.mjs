import { screen } from "../frame/stage.mjs";
import { word } from "../frame/words.mjs";
import { inWords } from "../scale/step_words.mjs";
import { fillLink } from "../scale/fill_link.mjs";
import { inHandElsewhere } from "../rules/in_hand_elsewhere.mjs";
import { elsewhereWords } from "../shop/elsewhere.mjs";
import { SHOWN } from "./blocks.mjs";

/** @import { BlockToday, FillToday } from "./blocks.mjs" */

/** @param {string} scale The address of the page at the scale. @param {{code: string, block: number}} of */
export const blockAddress = (scale, { code, block }) => `${scale}#${encodeURIComponent(code)}/${block}`;

/**
 * What is in hand, each one tap away; a tank first: it is filled before blocks draw from it.
 *
 * @param {BlockToday[]} blocks @param {FillToday[]} fills
 * @param {string} device Of this phone: what another one of the shop has in hand is told so.
 */
export function showInHand(blocks, fills, device) {
  const place = /** @type {HTMLElement} */ (document.querySelector("[data-in-hand]"));
  const scale = place.dataset.scaleUrl ?? "";
  /** @type {HTMLElement} */ (place.querySelector("ul")).replaceChildren(
    ...fills.map((each) => screen("in-hand", { target: scale + fillLink(each.id), ...slotsOfFill(each), ...byPhone(each, device) })),
    ...ownFirst(blocks, device).slice(0, SHOWN).map((each) => screen("in-hand", { target: blockAddress(scale, each), ...slotsOf(each), ...byPhone(each, device) })),
  );
  /** @type {HTMLElement} */ (place.querySelector("[data-more-in-hand]")).hidden = blocks.length <= SHOWN;
  place.hidden = blocks.length + fills.length === 0;
}

/** What somebody else is at comes behind one's own. @param {BlockToday[]} blocks @param {string} device */
const ownFirst = (blocks, device) =>
  blocks.toSorted((a, b) => Number(inHandElsewhere(a.events, device) !== null) - Number(inHandElsewhere(b.events, device) !== null));

/** @param {{events: import("../rules/types.mjs").TarewellEvent[]}} each @param {string} device */
function byPhone({ events }, device) {
  const elsewhere = elsewhereWords(events, device);
  return { elsewhere, here: elsewhere === "" };
}

/** @param {FillToday} each */
function slotsOfFill({ issued, fold }) {
  const step = fold.steps[fold.index];
  return {
    formula: issued.tank_name ?? "",
    block: word("filling"),
    progress: step ? word("step-of", { n: fold.index + 1, of: fold.steps.length }) : "",
    step: step ? inWords(step).title : "",
  };
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
