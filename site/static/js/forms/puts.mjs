/**
 * Buttons of an answer that put something into the form, as if it had been typed: `data-put` holds texts by control.
 * `data-type-on` names the control in which one goes on typing, behind what was put in.
 */

/** @param {HTMLFormElement} form */
export function watchPuts(form) {
  form.addEventListener("click", (event) => {
    const button = event.target instanceof Element ? event.target.closest("button") : null;
    // What an older answer would put in was meant for what stood in the form then.
    if (button?.dataset.put === undefined || button.closest("[data-stale], [aria-busy]")) return;
    const going = button.dataset.typeOn;
    for (const [name, value] of Object.entries(JSON.parse(button.dataset.put))) {
      const control = form.elements.namedItem(name);
      if (!(control instanceof HTMLInputElement || control instanceof HTMLSelectElement || control instanceof HTMLTextAreaElement)) continue;
      control.value = String(value);
      // One goes on typing in it: it has not been left.
      for (const kind of name === going ? ["input"] : ["input", "change"]) control.dispatchEvent(new Event(kind, { bubbles: true }));
    }
    const typed = form.elements.namedItem(going ?? "");
    if (!(typed instanceof HTMLTextAreaElement)) return;
    // At once: later than the tap, a phone opens no keyboard for it.
    typed.focus({ preventScroll: true });
    typed.setSelectionRange(typed.value.length, typed.value.length);
  });
}
