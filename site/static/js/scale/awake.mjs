import { word } from "../frame/words.mjs";

/** Keeps the screen lit while a block is weighed. The sign shows whether it is kept lit, not whether that was asked for. */

/** @type {WakeLockSentinel | null} */
let held = null;
let wished = false;
/** @type {HTMLElement | null} */
let sign = null;

function show() {
  if (!sign) return;
  sign.hidden = !wished;
  const lit = held !== null && !held.released;
  sign.toggleAttribute("data-lit", lit);
  const text = sign.querySelector("[data-awake-text]");
  if (text) text.textContent = word(lit ? "screen-stays-on" : "screen-may-sleep");
}

async function request() {
  if (!wished || document.visibilityState !== "visible" || (held && !held.released)) return show();
  try {
    held = (await navigator.wakeLock?.request("screen")) ?? null;
    held?.addEventListener("release", show);
  } catch {
    // Refused, as with a low battery: nothing else changes.
    held = null;
  }
  show();
}

/** @param {HTMLElement | null} place */
export function watchAwake(place) {
  sign = place;
  document.addEventListener("visibilitychange", () => void request());
}

/** @param {boolean} wish */
export function keepAwake(wish) {
  wished = wish;
  if (!wish) {
    void held?.release().catch(() => {});
    held = null;
  }
  void request();
}
