import { app, onWorkshop } from "../frame/app.mjs";

/** Says above a form what the workshop has to have first, and leads to it. */
export function watchLacks() {
  const box = /** @type {HTMLElement | null} */ (document.querySelector("[data-lacks]"));
  if (!box) return;
  const lines = [...box.querySelectorAll(/** @type {"li"} */ ("[data-lack]"))];
  onWorkshop(async () => {
    for (const line of lines) line.hidden = (app.state[line.dataset.lack ?? ""] ?? []).length > 0;
    box.hidden = lines.every(({ hidden }) => hidden);
  });
}
