import { ownLimit } from "../rules/own_limits.mjs";
import { ownValues } from "./shop.mjs";

/** Shows the workshop's own limits beside the built-in ones. @param {ParentNode} place */
export function showLimits(place) {
  const values = ownValues();
  for (const line of place.querySelectorAll(/** @type {"span"} */ ("[data-limit]"))) {
    const { limit = "", side = "", builtIn = "[]" } = line.dataset;
    const text = ownLimit(values, limit, side, JSON.parse(builtIn));
    line.hidden = text === "";
    line.querySelector("[data-said]")?.replaceChildren(text);
  }
}
