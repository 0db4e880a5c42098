import { setHTML } from "./trusted.mjs";
import { word } from "./words.mjs";

/** What a finished sheet never holds. In a sheet from elsewhere it could act, or mislead. */
const REFUSED = "button, input, select, textarea, output, fieldset, label, img, [data-answer], [data-ask], [data-word]";

/**
 * Puts a stored sheet into an element. It may have come in with somebody's file. So the policy refuses scripts and foreign
 * addresses, and nothing in a sheet can be pressed. Of a sheet that holds what none holds the page says so, and does not
 * show it.
 *
 * @param {Element} place
 * @param {string} html
 */
export function setFrozenHTML(place, html) {
  const holder = document.createElement("template");
  try {
    setHTML(holder, html);
  } catch {
    place.textContent = word("sheet-refused");
    return;
  }
  for (const element of holder.content.querySelectorAll(REFUSED)) element.remove();
  place.replaceChildren(holder.content);
}
