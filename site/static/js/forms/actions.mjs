import { newEvent } from "../store/events.mjs";
import { app } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { keep } from "../frame/saved.mjs";

/** @import { Editor } from "./editor.mjs" */

/**
 * The buttons that change the workshop, wherever they stand, also in answers.
 *
 * @param {Editor[]} editors
 * @param {() => Promise<void>} changed Called when the change is stored.
 */
export function watchActions(editors, changed) {
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!button) return;
    const { remove, clearDemo, setUnits } = button.dataset;
    if (setUnits !== undefined && setUnits !== app.state.units) {
      await keep(newEvent("settings", "settings:shop", { values: { units: setUnits } }));
      await changed();
    } else if (clearDemo !== undefined && confirmed(button)) {
      await keep(newEvent("demo_cleared", "demo:workshop"));
      await changed();
    } else if (remove !== undefined && confirmed(button)) {
      await removeItem(button, remove, editors, changed);
    }
  });
}

/**
 * @param {HTMLElement} button
 * @param {string} kind
 * @param {Editor[]} editors
 * @param {() => Promise<void>} changed
 */
async function removeItem(button, kind, editors, changed) {
  const editor = editors.find(({ form }) => form.contains(button) || (form.closest("[data-kind]")?.contains(button) ?? false));
  const id = button.dataset.id ?? editor?.id ?? "";
  if (!id) return;
  await keep(newEvent("removed", `${kind}:${id}`));
  const next = editor?.form.dataset.next;
  if (editor && next !== undefined) {
    await editor.unsaved.clear();
    location.assign(new URL(next, location.href));
  } else {
    await changed();
  }
}
