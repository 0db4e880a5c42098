import { app } from "../frame/app.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";

/** The buttons that change the workshop as a whole. @param {() => Promise<void>} changed Called when the change is stored. */
export function watchSettings(changed) {
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!button) return;
    const { setUnits } = button.dataset;
    if (setUnits !== undefined && setUnits !== app.state.units) {
      await keep(newEvent("settings", "settings:shop", { values: { units: setUnits } }));
      await changed();
    }
  });
}
