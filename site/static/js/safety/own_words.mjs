/** What the maker has written: in English, in Spanish, in both, or, in older records, in a language that nobody has named. */

/** @import { OwnPoint, OwnWords } from "../rules/types.mjs" */

/** @param {string | undefined} language @param {string} words */
function span(language, words) {
  const made = document.createElement("span");
  if (language) made.lang = language;
  made.textContent = words;
  return made;
}

/** Both languages as the page's own words stand; where there is one, it is shown whichever is chosen. @param {OwnPoint} point @param {keyof OwnWords} part */
export function ownWords({ en, es, ...unnamed }, part) {
  if (en && es) {
    const [english, spanish] = [span("en", en[part]), span("es", es[part])];
    english.className = "en";
    spanish.className = "es";
    return [english, new Text(" "), spanish];
  }
  const made = span(en ? "en" : es ? "es" : undefined, (en ?? es ?? unnamed)[part] ?? "");
  made.dataset.said = "";
  return [made];
}

/** Which note a screen shows: that the words stand in one language only. @param {OwnPoint} point */
export const onlyIn = ({ en, es }) => ({ "only-en": Boolean(en && !es), "only-es": Boolean(es && !en) });
