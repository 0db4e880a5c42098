import { app } from "../frame/app.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";

/**
 * The buttons that change the workshop as a whole. They are there to be tapped before the workshop has been read: such a tap waits.
 *
 * @param {Promise<() => Promise<void>>} started Comes with what reads the workshop again, once it has been read.
 */
export function watchSettings(started) {
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!button) return;
    const { setUnits } = button.dataset;
    if (setUnits === undefined) return;
    const again = await started;
    if (setUnits !== app.state.units) {
      await keep(newEvent("settings", "settings:shop", { values: { units: setUnits } }));
      await again();
    }
  });
}
