import { untilRead } from "./unread.mjs";

// What is over sooner pushes nothing about on the page, where a thumb may be on its way.
const UNSEEN_MS = 500;

/** The bar of the page while entries are made; null takes it away. @param {number | null} share */
export function showMaking(share) {
  const place = document.querySelector(/** @type {"div"} */ ("[data-making]"));
  const bar = document.querySelector(/** @type {"progress"} */ ("[data-making] progress"));
  if (place) place.hidden = share === null;
  if (bar) bar.value = share ?? 0;
}

/**
 * Reads what is made of the records; what of it is still to be made is made first, and the page says so
 * where that takes a moment.
 *
 * @template T
 * @param {(limit: number) => Promise<T | null>} work  null while some is to be made
 * @param {(told: (share: number) => void) => Promise<void>} make
 * @param {() => T} none What stands in a browser that keeps no records at all.
 * @param {(share: number | null) => void} [making] Told how far that is, and null once it is over.
 * @returns {Promise<T>}
 */
export async function untilMade(work, make, none, making = showMaking) {
  for (;;) {
    const found = await untilRead(work, none);
    making(null);
    if (found !== null) return found;
    const begun = performance.now();
    await untilRead(() => make((share) => performance.now() - begun >= UNSEEN_MS && making(share)));
  }
}
