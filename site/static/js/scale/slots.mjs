import { word } from "../frame/words.mjs";
import { sayAloud } from "./comforts.mjs";
import { unitSign } from "./keypad.mjs";
import { mayNameLot } from "./lots.mjs";
import { isGross, rangeText } from "./view.mjs";

/** @import { Step } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */
/** @import { Slots } from "../frame/stage.mjs" */

/** What most screens of a step show. @param {BlockAtScale} block @param {Step} step @returns {Slots} */
export const stepSlots = (block, step) => ({
  title: step.title,
  how: step.how,
  stop: step.stop,
  lot: block.lotFor(step),
  next: step.next,
  following: block.fold.steps[block.fold.index + 1]?.title,
  person: block.person || word("nobody-yet"),
  before: block.linkBefore(block.fold.index),
  unit: unitSign(step.unit ?? ""),
  safety: step.safety,
  range: step.kind === "temperature" ? rangeText(step) : "",
});

/** What a weighing shows besides. @param {BlockAtScale} block @param {Step} step @returns {Slots} */
export function weighSlots(block, step) {
  const frozen = block.fold.steps[block.fold.index];
  const newer = block.answers.replaced(step.key);
  const unit = unitSign(step.unit ?? "");
  return {
    target: step.target_text,
    band: step.band_text,
    scale: step.scale,
    whole: isGross(block.fold, step),
    valve: step.close_valve_text,
    fine: step.fine?.from_text,
    "worked-out": frozen && newer && frozen.target !== newer.target ? `${frozen.target_text} ${unit}` : null,
    "may-change-lot": mayNameLot(step),
  };
}

/** The lye that is poured right after this tare, as it is to be poured. @param {BlockAtScale} block @param {Step} step @returns {Step | null} */
export function lyeBehindTare(block, step) {
  const next = block.fold.steps[block.fold.index + 1];
  if (step.key !== "check:tare-lye" || next?.kind !== "weigh" || !next.twice) return null;
  return block.answers.replaced(next.key) ?? next;
}

/** @param {Step} step */
export const sayStep = (step) =>
  sayAloud([step.title, step.target_text, step.target_text ? word(`unit-spoken-${step.unit}`) : ""].filter(Boolean).join(" "));
