import { app, onWorkshop } from "../frame/app.mjs";
import { eyewashOf, worstOf } from "../rules/eyewash.mjs";
import { dayOn } from "../store/clock.mjs";
import { StoreError } from "../store/database.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { mirrorEyewash } from "./mirror.mjs";
import { eyewashDays, eyewashMonths } from "./shop.mjs";

/** @import { Eyewash } from "../rules/eyewash.mjs" */

/** @typedef {Record<"weekly" | "yearly", Eyewash>} Checks */

/** What this page knows. @type {{checks: Checks | null, day: string}} */
const known = { checks: null, day: "" };

/** Without what checks somebody said today why work goes on, "weekly" -> "never"; empty but at the scale. @type {Record<string, string>} */
let answered = {};

/** A fault is told however often a reason was given: that eyewash rinses no eye. @param {import("../rules/types.mjs").TarewellEvent[]} said The day's answers before a block. */
export function eyewashAnswered(said) {
  const found = said.flatMap(({ eyewash, reason, took_over }) => (reason && !took_over ? Object.entries(eyewash ?? {}) : []));
  answered = Object.fromEntries(found.filter(([, state]) => state !== "faulty"));
}

/** How the eyewash stands today by the records; the emergency card's copy is renewed with it. @param {number} [limit] [ms] @returns {Promise<Checks>} */
export async function readEyewash(limit) {
  const events = await eventsOfKinds(["eyewash_checked"], limit);
  const { eyewashDays: days, eyewashMonths: months } = document.body.dataset;
  const day = dayOn();
  const checks = {
    weekly: eyewashOf(events, "weekly", { days: eyewashDays(Number(days)) }, day),
    yearly: eyewashOf(events, "yearly", { months: eyewashMonths(Number(months)) }, day),
  };
  Object.assign(known, { checks, day });
  mirrorEyewash(worstOf(Object.values(checks)));
  return checks;
}

/** Reads it anew and says it. Where nothing can be read, that is said elsewhere. */
export async function renewEyewash() {
  try {
    await readEyewash();
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
  }
  tellEyewash(document);
}

/** The checks that don't hold, as far as they are known: "weekly" -> "over". @returns {Record<string, string>} */
export const notHeld = () =>
  Object.fromEntries(Object.entries(known.checks ?? {}).flatMap(([which, { state }]) => (state === "held" ? [] : [[which, state]])));

/**
 * Says what is overdue, was never done or found amiss, where the page has a place for it. Who practices, or has
 * stored nothing yet, has no eyewash to check.
 *
 * @param {ParentNode} place
 */
export function tellEyewash(place) {
  const amiss = Object.entries(notHeld()).filter(([, state]) => app.own || state !== "never");
  for (const box of place.querySelectorAll(/** @type {"div"} */ ("[data-eyewash-told]"))) {
    const told = box.dataset.eyewashAlways === undefined ? amiss.filter(([which, state]) => answered[which] !== state) : amiss;
    box.hidden = told.length === 0;
    for (const line of box.querySelectorAll(/** @type {"p"} */ ("[data-eyewash-state]"))) {
      const which = told.filter(([, state]) => state === line.dataset.eyewashState).map(([each]) => each);
      line.hidden = which.length === 0;
      const named = which.length > 1 ? "both" : which[0];
      for (const name of line.querySelectorAll(/** @type {"span"} */ ("[data-eyewash-of]"))) name.hidden = name.dataset.eyewashOf !== named;
    }
  }
}

/** Keeps it true: when the records change, and when the day does. */
export function watchEyewash() {
  onWorkshop(renewEyewash);
  const newDay = () => void (known.day !== "" && known.day !== dayOn() && renewEyewash());
  setInterval(newDay, 30_000);
  document.addEventListener("visibilitychange", newDay);
}
