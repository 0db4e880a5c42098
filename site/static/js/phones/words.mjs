/** How this phone stands with the shop's others, in words: on the page of phones, and in one line on every page. */

import { latelyWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";

/** @import { ShopState } from "../shop/state.mjs" */

/** In one sentence. @param {ShopState} state */
export function howWords({ state, name, heard }) {
  if (state === "unreachable" && !heard) return word("shop-unheard", { name });
  return word(`shop-${state}`, { name, time: heard ? latelyWords(heard) : "" });
}

/** What is to be done then, or that nothing is. @param {ShopState} state */
export const thenWords = ({ state }) => word(`shop-${state}-then`);

/** How many records that is said of. @param {"waiting" | "large" | "apart" | "unread"} what @param {number} n */
export const countWords = (what, n) => (n > 0 ? word(`shop-${what}`, { n }) : "");
