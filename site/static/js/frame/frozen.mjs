import { checkedMarkup, eachTag, setHTML } from "./trusted.mjs";
import { word } from "./words.mjs";

/** What a finished sheet never holds. In a sheet from elsewhere it could act, or mislead. */
const REFUSED = "button, input, select, textarea, output, fieldset, label, img";

/**
 * All that a sheet's look and its reading aloud hang on. Scripts find their own elements by ids, names and data, so a sheet
 * from elsewhere brings none: with one it would stand in for a control of the page.
 */
const KEPT = new Set(
  `class colspan rowspan scope lang dir role title datetime aria-label aria-hidden data-label data-tells data-datetime
  clip-path cx cy d dominant-baseline dx dy fill fill-opacity fill-rule focusable font-family font-size font-weight height
  letter-spacing offset opacity paint-order pathlength points preserveaspectratio r rx ry shape-rendering stroke stroke-dasharray
  stroke-dashoffset stroke-linecap stroke-linejoin stroke-miterlimit stroke-opacity stroke-width text-anchor textlength
  transform vector-effect viewbox width x x1 x2 xmlns y y1 y2`.split(/\s+/),
);

/** A sheet's markup with these attributes alone. Throws where it holds what no answer of this app holds. @param {string} markup */
export function inert(markup) {
  // Looked over before: of markup that a browser reads otherwise than this does, nothing would be sure.
  checkedMarkup(markup);
  return eachTag(markup, (name) => KEPT.has(name));
}

/**
 * Puts a stored sheet into an element. It may have come in with somebody's file. So the policy refuses scripts and foreign
 * addresses, nothing in a sheet can be pressed, and nothing in it is taken for a part of the page. Of a sheet that holds
 * what none holds the page says so, and does not show it.
 *
 * @param {Element} place
 * @param {string} html
 */
export function setFrozenHTML(place, html) {
  const holder = document.createElement("template");
  try {
    setHTML(holder, inert(html));
  } catch {
    place.textContent = word("sheet-refused");
    return;
  }
  for (const element of holder.content.querySelectorAll(REFUSED)) element.remove();
  place.replaceChildren(holder.content);
}
