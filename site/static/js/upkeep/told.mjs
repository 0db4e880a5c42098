/** What the workshop keeps up, as page and Today tell it. */

import { app } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { UPKEEP_KINDS } from "../rules/kinds.mjs";
import { upkeepOf } from "../rules/upkeep.mjs";
import { dayOn } from "../store/clock.mjs";
import { eventsOfKinds } from "../store/events.mjs";

/** @import { Item } from "../rules/types.mjs" */

/** Every task that is kept, the most pressing first; blocks are read only where one counts them. @returns {Promise<import("../rules/upkeep.mjs").Kept[]>} */
export async function readUpkeep() {
  /** @type {Item[]} */
  const items = app.state.upkeep ?? [];
  if (items.length === 0) return [];
  const log = await untilRead(() => eventsOfKinds(UPKEEP_KINDS), () => []);
  const counts = items.some(({ values }) => values.every_blocks);
  const closed = counts ? await untilRead(() => eventsOfKinds(["closed"]), () => []) : [];
  return upkeepOf(items, log, closed.map(({ local }) => local), dayOn());
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
