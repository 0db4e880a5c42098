/** What the workshop keeps up, as page and Today tell it. */

import { app } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { countedFrom, upkeepOf } from "../rules/upkeep.mjs";
import { dayOn } from "../store/clock.mjs";
import { closedSince, makeStanding, upkeepTold } from "../store/standing.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** Every task that is kept, the most pressing first; blocks are counted only where one asks for them. @returns {Promise<import("../rules/upkeep.mjs").Kept[]>} */
export async function readUpkeep() {
  /** @type {Item[]} */
  const items = app.state.upkeep ?? [];
  if (items.length === 0) return [];
  const log = await untilMade(upkeepTold, makeStanding, () => []);
  const since = countedFrom(items, log, dayOn());
  const closed = since.length > 0 ? await untilMade((limit) => closedSince(since, limit), makeStanding, () => new Map()) : new Map();
  return upkeepOf(items, log, (each) => closed.get(each) ?? 0, dayOn());
}

/**
 * What a task is called: a usual one in this page's language, as long as the workshop has given it no other name.
 *
 * @param {string} id @param {string} own
 */
export function titleOf(id, own) {
  const usual = document.querySelector(/** @type {"li"} */ (`[data-usual="${CSS.escape(id)}"]`));
  const { title = own, titles = "[]" } = usual?.dataset ?? {};
  return own === "" || JSON.parse(titles).includes(own) ? title : own;
}
