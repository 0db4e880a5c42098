import { confirmed } from "../frame/confirmed.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";

/** @import { Editor } from "./editor.mjs" */

/** The buttons that remove a stored item. @param {Editor[]} editors @param {() => Promise<void>} changed Called when that is stored. */
export function watchRemoval(editors, changed) {
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    const kind = button?.dataset.remove;
    if (button && kind !== undefined && confirmed(button)) await removeItem(button, kind, editors, changed);
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
