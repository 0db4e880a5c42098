import { app } from "../frame/app.mjs";

/** @import { Item, Step, TarewellEvent } from "../rules/types.mjs" */

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
  }
  return lots.flatMap(({ values }) => values.code ?? []);
}
