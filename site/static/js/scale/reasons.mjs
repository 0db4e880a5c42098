import { word } from "../frame/words.mjs";

/** @import { BlockAtScale } from "./block.mjs" */

/** Why something is done: one of the reasons offered, own words, or both. What is chosen and typed outlasts a reload. */

/** @param {BlockAtScale} block @returns {HTMLInputElement[]} */
const offered = ({ stage }) => [...stage.place.querySelectorAll(/** @type {"input"} */ ('input[name="why"]'))];

/** @param {BlockAtScale} block */
const chosen = (block) => offered(block).find(({ checked }) => checked)?.value ?? "";

/** A reason begun for one way on is not shown under another. @param {BlockAtScale} block */
const screenOf = ({ aside, stage }) => `${stage.place.dataset.shown}:${aside?.decide ?? ""}`;

/** Puts back what was chosen and typed before, and keeps what comes. @param {BlockAtScale} block */
export function keepReason(block) {
  const { draft, stage } = block;
  const screen = screenOf(block);
  const before = draft.reasons[screen] ?? { why: "", text: "" };
  const keep = () => draft.setReason(screen, { why: chosen(block), text: stage.typed("reason") });
  for (const radio of offered(block)) {
    radio.checked = radio.value === before.why;
    radio.addEventListener("change", keep);
  }
  const field = stage.find('input[name="reason"]');
  if (!(field instanceof HTMLInputElement)) return;
  field.value = before.text;
  field.addEventListener("input", keep);
}

/** The reason in one line. Where there is none, it says so on the screen and returns "". @param {BlockAtScale} block */
export function reasonGiven(block) {
  const reason = [chosen(block), block.stage.typed("reason")].filter(Boolean).join(". ");
  const place = block.stage.find('[role="alert"][data-slot]');
  if (reason === "" && place) place.textContent = word("reason-missing");
  return reason;
}
