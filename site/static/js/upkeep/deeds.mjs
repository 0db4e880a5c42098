/** The deeds of the page of upkeep: into the list and out of it, done, mended, taken back. */

import { reload } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { notice } from "../frame/notice.mjs";
import { personHere } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";
import { headOf, showUpkeep, startOf } from "./list.mjs";

/** @import { Kind, TarewellEvent } from "../rules/types.mjs" */

export function watchUpkeep() {
  let acting = false;
  // Every deed has its own button; Enter in a field is none.
  document.querySelector("[data-upkeep]")?.addEventListener("submit", (event) => event.preventDefault());
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest(/** @type {"button"} */ ("[data-upkeep] button")) : null;
    if (!button || acting) return;
    acting = true;
    void act(button).finally(() => (acting = false));
  });
}

/** @param {HTMLButtonElement} button */
async function act(button) {
  const { upkeepAdd: added, upkeepDone: done, upkeepMended: mends, upkeepBack: takes, upkeepLeave: leaves } = button.dataset;
  const task = added ?? button.closest("details")?.dataset.task ?? "";
  // Drawn anew, a button would forget that it was pressed once.
  if ((takes !== undefined || leaves !== undefined) && !confirmed(button)) return;
  if (takes !== undefined) await logged(task, "upkeep_taken_back", { takes });
  else if (leaves !== undefined) await keep(newEvent("removed", `upkeep:${task}`), headOf(task));
  else if (mends !== undefined) await logged(task, "upkeep_mended", { mends });
  else if (added !== undefined) await add(task, done !== undefined);
  else if (done !== undefined) await finish(task, button);
  else return;
  await reload();
  await showUpkeep();
}

/** @param {string} task @param {boolean} done And it has just been done. */
async function add(task, done) {
  const person = done ? await personHere() : "";
  if (done && !person) return;
  await keep(newEvent("saved", `upkeep:${task}`, { values: startOf(task) }), headOf(task));
  notice("saved");
  if (done) await keep(newEvent("upkeep_done", `upkeep_log:${task}`, { person }));
}

/** @param {string} task @param {HTMLButtonElement} button */
async function finish(task, button) {
  const field = /** @type {HTMLTextAreaElement | null} */ (button.closest("details")?.querySelector("textarea"));
  const found = field?.value.trim() ?? "";
  if (!(await logged(task, "upkeep_done", found ? { found } : {}))) return;
  if (field) field.value = "";
}

/** @param {string} task @param {Kind} kind @param {Partial<TarewellEvent>} fields @returns {Promise<boolean>} Whether somebody said who. */
async function logged(task, kind, fields) {
  const person = await personHere();
  if (!person) return false;
  await keep(newEvent(kind, `upkeep_log:${task}`, { person, ...fields }));
  notice("saved");
  return true;
}
