import { app } from "../frame/app.mjs";
import { lotKey } from "../rules/lot_key.mjs";

/** @import { Item, Step, TarewellEvent } from "../rules/types.mjs" */

const LOTS = ["oil_lot", "alkali_lot", "scent_lot", "additive_lot"];

/**
 * Whether another lot may be named for a step. A scent's is asked at the bottle, known or not; an additive's at its
 * container, where the workshop keeps such lots; of other pours, where one is known. What is counted off a lot of set-aside soap is that lot's.
 *
 * @param {Step} step
 */
export const mayNameLot = ({ kind, pour, pour_kind, lot }) => kind === "weigh" && pour !== null && pour_kind !== "soap" && (lot !== null || pour_kind === "scent" || (pour_kind === "additive" && (app.state.additive_lot ?? []).length > 0));

/** The workshop's lots of what a step pours. @param {TarewellEvent} issued @param {Step} step @returns {string[]} */
export function lotChoices(issued, step) {
  const [kind, which = ""] = (step.pour ?? "").split(":");
  /** @type {Item[]} */
  let lots = [];
  if (kind === "oil") {
    const oil = issued.oils?.[Number(which)]?.key;
    lots = (app.state.oil_lot ?? []).filter((/** @type {Item} */ lot) => lot.values.oil === oil);
  } else if (kind === "lye") {
    lots = (app.state.alkali_lot ?? []).filter((/** @type {Item} */ lot) => lot.values.alkali === which);
  } else if (kind === "scent") {
    lots = app.state.scent_lot ?? [];
  } else if (kind === "additive") {
    /** @type {{key: string, additive?: string}[]} */
    const pours = issued.pours ?? [];
    const additive = pours.find(({ key }) => key === step.pour)?.additive;
    lots = (app.state.additive_lot ?? []).filter((/** @type {Item} */ lot) => additive === undefined || lot.values.additive === additive);
  }
  return lots.flatMap(({ values }) => values.code ?? []);
}

/** The lot that is meant by a code as it was typed, in whatever letters: as Workshop writes it, where it has one. @param {TarewellEvent} issued @param {Step} step @param {string} typed */
export function lotMeant(issued, step, typed) {
  const key = lotKey(typed);
  const own = [step.lot ?? "", ...lotChoices(issued, step)];
  const all = LOTS.flatMap((kind) => (app.state[kind] ?? []).map((/** @type {Item} */ { values }) => values.code ?? ""));
  return [...own, ...all].find((code) => code !== "" && lotKey(code) === key) ?? typed;
}
