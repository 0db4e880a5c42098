/** Keeps this phone together with the shop's others, from whatever page is open. */

import { mode } from "../store/mode.mjs";

/** Called by every page once it has been read. Does nothing where this phone isn't paired, nor in practice. */
export function startShop() {
  if (mode !== "own") return;
}
