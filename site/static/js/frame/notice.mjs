import { handDown } from "./share.mjs";
import { word } from "./words.mjs";

/** @param {string} selector @returns {HTMLElement | null} */
const find = (selector) => document.querySelector(selector);

/** Shows a sentence on the page until the next one. @param {string} text */
export function sentence(text) {
  const place = find("[data-notice]");
  if (!place) return;
  place.textContent = text;
  place.hidden = false;
}

/** The same, by the key of its words. @param {string} key @param {Record<string, string | number>} [filled] */
export const notice = (key, filled) => sentence(word(key, filled));

/** Moves the page to where the sentence is seen. */
export const showNotice = () => find("[data-notice]")?.scrollIntoView({ block: "nearest" });

/** Takes the sentence away, where something has been done since. That of a fault stays, beside its report. */
export function hush() {
  const place = find("[data-notice]");
  if (place && find("[data-fault-report]")?.hidden !== false) place.hidden = true;
}

// A sentence that has to survive going to the next page.
const CARRIED = "tarewell-notice";

/** Shows words on the page that is opened next. @param {string} key @param {Record<string, string | number>} [filled] */
export function noticeNext(key, filled) {
  try {
    sessionStorage.setItem(CARRIED, word(key, filled));
  } catch {
    // The sentence is a comfort only.
  }
}

/** Shows what the page before left to say. */
export function noticeCarried() {
  try {
    const words = sessionStorage.getItem(CARRIED);
    sessionStorage.removeItem(CARRIED);
    if (words) sentence(words);
  } catch {
    // As above.
  }
}

/**
 * Says that the app has a fault, and offers a report to keep. The page itself stays as it is.
 *
 * @param {string} reason
 * @param {string} report
 */
export function fault(reason, report) {
  notice("fault", { reason });
  const button = find("[data-fault-report]");
  if (!button) return;
  button.hidden = false;
  button.onclick = () => handDown(new File([report], "tarewell-fault.txt", { type: "text/plain" }));
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let speaking;

/** Pause after the last change before it is spoken. [ms] */
const SPEAK_AFTER = 700;

/** Has a screen reader say a text once, when typing has stopped. @param {string} text */
export function speak(text) {
  clearTimeout(speaking);
  speaking = setTimeout(() => {
    const place = find("[data-status]");
    if (place) place.textContent = text;
  }, SPEAK_AFTER);
}
