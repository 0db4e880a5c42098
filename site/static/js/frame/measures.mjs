/** A tap on a cut in a picture shows its measure beside the picture, in the words that Python gave it. */
export function watchMeasures() {
  document.addEventListener("click", ({ target }) => {
    const cut = target instanceof Element ? target.closest("[data-measure]") : null;
    const told = cut?.closest("[data-answer]")?.querySelector("[data-measured]");
    if (!cut || !told) return;
    for (const other of cut.closest("[data-measures]")?.querySelectorAll("[data-tapped]") ?? []) other.removeAttribute("data-tapped");
    cut.setAttribute("data-tapped", "");
    told.textContent = cut.getAttribute("data-measure");
  });
}
