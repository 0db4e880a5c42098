import { word } from "../words.mjs";

/** @import { BlockAtScale } from "./block.mjs" */

/** Why something is done: one of the reasons offered, own words, or both. What is chosen and typed waits for a reload. */

/** @param {BlockAtScale} block @returns {HTMLInputElement[]} */
const offered = ({ stage }) => [...stage.place.querySelectorAll(/** @type {"input"} */ ('input[name="why"]'))];

/** Puts back what was chosen and typed before, and keeps what comes. @param {BlockAtScale} block */
export function keepReason(block) {
  const { draft, stage } = block;
  for (const radio of offered(block)) {
    radio.checked = radio.value === draft.why;
    radio.addEventListener("change", () => draft.set({ why: radio.value }));
  }
  const field = stage.find('input[name="reason"]');
  if (!(field instanceof HTMLInputElement)) return;
  field.value = draft.reason;
  field.addEventListener("input", () => draft.set({ reason: field.value }));
}

/** The reason in one line; "" after saying that one is missing. @param {BlockAtScale} block */
export function reasonGiven(block) {
  const chosen = offered(block).find(({ checked }) => checked)?.value ?? "";
  const reason = [chosen, block.stage.typed("reason")].filter(Boolean).join(". ");
  const place = block.stage.find('[data-slot="problem"]');
  if (reason === "" && place) place.textContent = word("reason-missing");
  return reason;
}
