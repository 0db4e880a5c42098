/**
 * What is often said, at a tap: its words go into the field that they stand beside, after what was typed there. Of words in
 * two languages those go in that are shown.
 */
export function watchTapped() {
  document.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest("[data-say]") : null;
    const field = button?.closest(".field")?.querySelector(/** @type {"input"} */ ("input, textarea"));
    if (!(button instanceof HTMLElement) || !field) return;
    const words = button.innerText.split("\n")[0]?.trim() ?? "";
    if (field.value.includes(words)) return;
    field.value = [field.value.trim(), words].filter(Boolean).join(". ");
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });
}
