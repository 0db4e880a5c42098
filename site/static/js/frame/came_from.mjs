/** Where somebody was who went off to a form to put something in: saving leads back there. Kept for this tab alone. */

const PLACE = "tarewell-came-from";

/** Remembers the way from this page to a form. */
export function watchLeaving() {
  document.addEventListener("click", ({ target }) => {
    const link = target instanceof Element ? target.closest("a") : null;
    if (!link || !link.pathname.endsWith("/edit/") || link.origin !== location.origin) return;
    try {
      sessionStorage.setItem(PLACE, JSON.stringify({ to: link.pathname + link.hash, from: location.pathname + location.hash }));
    } catch {
      // Then saving leads to the list, as ever.
    }
  });
}

/** The page from which this form was opened, and none that another one was. @returns {string | null} */
export function cameFrom() {
  try {
    const { to, from } = JSON.parse(sessionStorage.getItem(PLACE) ?? "{}");
    // A path of this site, and no other address.
    return to === location.pathname + location.hash && /^\/(?!\/)/.test(from) ? from : null;
  } catch {
    return null;
  }
}
