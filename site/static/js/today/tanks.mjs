import { app, question } from "../frame/app.mjs";
import { redraw } from "../frame/redrawn.mjs";
import { readTanks } from "../tanks/told.mjs";

/**
 * Tells which tank is short for the blocks of open sheets. Python reckons it, after all else stands there: who has no tank, or no
 * block to make, does not wait for it, and without calculation nothing is said of it.
 */
export async function showTanks() {
  const place = /** @type {HTMLElement} */ (document.querySelector("[data-tanks-today]"));
  await readTanks();
  const open = (app.state.sheets ?? []).some((/** @type {any} */ { closed, blocks }) => closed !== null && closed.length < blocks);
  const reply = open ? await question("tanks_today", {}) : null;
  if (reply || !open) redraw(place, reply?.ok ? (reply.html?.tanks_today ?? "") : "");
}
