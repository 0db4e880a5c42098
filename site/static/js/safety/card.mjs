import { app, reload } from "../frame/app.mjs";
import { ownPlace } from "./mirror.mjs";

/** Whether a "yes" may be given: not on a screen that asks about the emergency card while that lacks number or address. Says why not. @param {ParentNode} screen */
export async function cardAllows(screen) {
  const problem = /** @type {HTMLElement | null} */ (screen.querySelector("[data-card-first]"));
  if (!problem) return true;
  await reload();
  const { emergency_number = "", address = "" } = ownPlace(app) ?? {};
  problem.hidden = emergency_number.trim() !== "" && address.trim() !== "";
  if (!problem.hidden) problem.scrollIntoView();
  return problem.hidden;
}
