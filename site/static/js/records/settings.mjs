import { app } from "../frame/app.mjs";
import { confirmed } from "../frame/confirmed.mjs";
import { keep } from "../frame/saved.mjs";
import { newEvent } from "../store/events.mjs";

/** The buttons that change the workshop as a whole. @param {() => Promise<void>} changed Called when the change is stored. */
export function watchSettings(changed) {
  document.addEventListener("click", async (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    if (!button) return;
    const { clearDemo, setUnits } = button.dataset;
    if (setUnits !== undefined && setUnits !== app.state.units) {
      await keep(newEvent("settings", "settings:shop", { values: { units: setUnits } }));
      await changed();
    } else if (clearDemo !== undefined && confirmed(button)) {
      await keep(newEvent("demo_cleared", "demo:workshop"));
      await changed();
    }
  });
}
