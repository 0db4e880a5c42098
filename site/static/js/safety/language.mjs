/** The language of the safety pages: chosen once, kept on this device, the same as on the emergency card (emergency.js). */

const PLACE = "tarewell-language";

/** @param {ParentNode} root @returns {HTMLInputElement[]} */
const radios = (root) => [...root.querySelectorAll(/** @type {"input"} */ ('input[name="language"]'))];

function kept() {
  try {
    return JSON.parse(localStorage.getItem(PLACE) ?? "{}")?.shown;
  } catch {
    return undefined;
  }
}

/** For speech, and for the words that scripts show. @param {string} shown */
function tell(shown) {
  document.documentElement.lang = shown === "es" ? "es" : "en";
  dispatchEvent(new Event("tarewell-language"));
}

/** @param {ParentNode} root */
export function keepLanguage(root) {
  const wanted = kept();
  tell(wanted);
  for (const radio of radios(root)) {
    if (radio.value === wanted) radio.checked = true;
    radio.addEventListener("change", () => {
      tell(radio.value);
      try {
        localStorage.setItem(PLACE, JSON.stringify({ shown: radio.value }));
      } catch {
        // Then it holds for as long as the page is open.
      }
    });
  }
}

/** What stands on the page now: where both stand side by side there is nothing to choose. @param {ParentNode} root */
export function shownLanguage(root) {
  const [first] = radios(root);
  const choice = /** @type {HTMLElement | null} */ (first?.closest(".language"));
  if (!choice || choice.getClientRects().length === 0) return "both";
  return radios(root).find(({ checked }) => checked)?.value ?? "both";
}
