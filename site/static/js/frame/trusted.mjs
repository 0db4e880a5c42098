// The one Trusted Types policy: what may become markup, and which scripts may be started.

import { tellTimes } from "./when.mjs";

const SCRIPTS = [
  new URL("../worker/shared.mjs", import.meta.url).href,
  new URL("../worker/dedicated.mjs", import.meta.url).href,
  new URL("../../../service-worker.js", import.meta.url).href,
];

const TAGS = new Set(
  `a abbr b br button caption code col colgroup datalist dd details div dl dt em fieldset figcaption figure h1 h2 h3 h4 h5 h6 hr i img
  input label legend li ol optgroup option output p pre q s section select small span strong sub summary sup table tbody td
  textarea tfoot th thead time tr ul var article aside header footer nav main mark data meter progress wbr
  svg g path rect circle ellipse line polyline polygon text tspan title desc defs clippath lineargradient
  radialgradient stop pattern marker use symbol`.split(/\s+/),
);

const ATTRIBUTES = new Set(
  `abbr alt autocomplete checked class cols colspan datetime dir disabled for headers height hidden href hreflang id inputmode label
  lang list max maxlength min multiple name open placeholder readonly required role rows rowspan scope selected span
  spellcheck src start step tabindex title type value width
  clip-path clippathunits cx cy d dominant-baseline dx dy fill fill-opacity fill-rule font-family font-size font-weight
  focusable fx fy gradienttransform gradientunits letter-spacing marker-end marker-mid marker-start markerheight
  markerunits markerwidth offset opacity orient paint-order patterncontentunits patterntransform patternunits pathlength
  points preserveaspectratio r refx refy rx ry shape-rendering stop-color stop-opacity stroke stroke-dasharray
  stroke-dashoffset stroke-linecap stroke-linejoin stroke-miterlimit stroke-opacity stroke-width text-anchor
  text-rendering textlength transform vector-effect viewbox x x1 x2 xmlns y y1 y2`.split(/\s+/),
);

const ADDRESSES = new Set(["href", "src"]);

// Stricter than HTML on purpose: every "<" opens a tag of this very form, every value stands in double quotes without
// "<". So a browser's parser, whatever its state, finds no tag that was not looked at here.
const TAG = /<\/?([a-z][a-z0-9]*)((?:\s+[a-z][a-z0-9-]*(?:="[^"<]*")?)*)\s*\/?>/giy;
const ATTRIBUTE = /([a-z][a-z0-9-]*)(?:="([^"<]*)")?/gi;

const WITH_BLANK = /\s+([a-z][a-z0-9-]*)(?:="[^"<]*")?/gi;

/** Tags found good before: an answer repeats most of them, and so does the next answer. @type {Set<string>} */
const good = new Set();
const MOST_REMEMBERED = 5_000;

/** @param {string} markup @returns {string} the same text; throws when it holds anything not on the lists */
export function checkedMarkup(markup) {
  for (let at = markup.indexOf("<"); at >= 0; at = markup.indexOf("<", TAG.lastIndex)) {
    TAG.lastIndex = at;
    const [whole, tag = "", attributes = ""] = TAG.exec(markup) ?? refuse(markup, at);
    if (good.has(whole)) continue;
    if (!TAGS.has(tag.toLowerCase())) refuse(markup, at);
    for (const [, name = "", value = ""] of attributes.matchAll(ATTRIBUTE))
      if (!allowed(name.toLowerCase(), value)) refuse(markup, at);
    if (good.size < MOST_REMEMBERED) good.add(whole);
  }
  return markup;
}

/**
 * Markup that has been looked over, without the attributes that are not kept. No tag goes, or what stood around it could
 * become one.
 *
 * @param {string} markup @param {(name: string) => boolean} kept Asked of each attribute's name, in small letters.
 */
export const eachTag = (markup, kept) =>
  markup.replace(new RegExp(TAG.source, "gi"), (tag) => tag.replace(WITH_BLANK, (attribute, name) => (kept(name.toLowerCase()) ? attribute : "")));

/** @param {string} name @param {string} value */
function allowed(name, value) {
  if (/^(aria|data)-[a-z0-9-]+$/.test(name)) return true;
  if (!ATTRIBUTES.has(name)) return false;
  if (!ADDRESSES.has(name)) return true;
  // Within the app only: no scheme, no other host, and no character reference that could spell one.
  return !/^\s*(?:[a-z][a-z0-9+.-]*:|[/\\]{2})/i.test(value) && !/&(?!amp;)/.test(value) && !/[\0-\x1f]/.test(value);
}

/** @param {string} markup @param {number} at @returns {never} */
function refuse(markup, at) {
  throw new TypeError(`Markup that this page does not take: ${markup.slice(at, at + 80)}`);
}

/** @param {string} address */
function known(address) {
  const { origin, pathname } = new URL(address);
  if (!SCRIPTS.includes(origin + pathname)) throw new TypeError(`A script that this page does not start: ${address}`);
  return address;
}

/** @type {any} */
const rules = { createHTML: checkedMarkup, createScriptURL: known };
/** Browsers without Trusted Types get the same checks and plain strings. @type {any} */
const policy = /** @type {any} */ (globalThis).trustedTypes?.createPolicy("tarewell", rules) ?? rules;

/** Markup made by Python, looked over. @param {string} markup @returns {any} a TrustedHTML */
export const html = (markup) => policy.createHTML(markup);

/** @param {Element} element @param {string} markup */
export function setHTML(element, markup) {
  element.innerHTML = html(markup);
  tellTimes(element instanceof HTMLTemplateElement ? element.content : element);
}

/** @param {URL} url @returns {any} a TrustedScriptURL */
export const scriptURL = (url) => policy.createScriptURL(url.href);
