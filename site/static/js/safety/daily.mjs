import { people, personToday } from "../frame/people.mjs";
import { keep } from "../frame/saved.mjs";
import { fill, screen } from "../frame/stage.mjs";
import { dailyOf, isDaily, isReady, nameKey, openStops } from "../rules/training.mjs";
import { DAILY, dayOf, foldWalks, walkSubject } from "../rules/walk.mjs";
import { clock, dayOn } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { shownLanguage } from "./language.mjs";
import { dailyPoints, ownPoint, required, templateOf } from "./points.mjs";
import { readWalks } from "./walks_read.mjs";

/** @import { TarewellEvent, WalkFold } from "../rules/types.mjs" */

/**
 * The daily check of this person: today's, a new one, or an older stop of the same person, which comes first.
 *
 * @param {string} person @param {string} language In which it is shown.
 * @returns {Promise<{subject: string, older: boolean}>}
 */
export async function dailyFor(person, language) {
  const events = await readWalks(null);
  const mine = dailyOf(foldWalks(events), person, dayOn());
  if (mine) return { subject: mine.begun.subject, older: false };
  const stop = openStops(events, required()).find(({ helper }) => nameKey(helper) === nameKey(person));
  if (stop) return { subject: stop.subject, older: true };
  const begun = newEvent("walk_begun", walkSubject(clock.uuid()), {
    helper: person, guide: person, language, way: DAILY, phases: [DAILY], points: dailyPoints(),
  });
  await keep(begun, null);
  return { subject: begun.subject, older: false };
}

const place = () => /** @type {HTMLElement} */ (document.querySelector("[data-daily]"));
const field = () => /** @type {HTMLInputElement} */ (place().querySelector("input"));

/** Begins the check of who is named there. @returns {Promise<{subject: string, older: boolean} | null>} null, and said, where nobody is. */
export async function beginDaily() {
  const person = field().value.trim();
  /** @type {HTMLElement} */ (place().querySelector("[data-daily-problem]")).hidden = person !== "";
  return person === "" ? null : dailyFor(person, shownLanguage(document));
}

/** Shows who has done it today. Whoever is at the scale, or is the workshop's only person, need not type a name. @param {TarewellEvent[]} events */
export async function showDaily(events) {
  const ready = foldWalks(events).filter((walk) => isDaily(walk) && isReady(walk) && dayOf(walk.begun) === dayOn());
  const line = /** @type {HTMLElement} */ (place().querySelector("[data-daily-done]"));
  line.hidden = ready.length === 0;
  fill(line, { people: ready.map(({ begun }) => begun.helper).join(", ") });
  const [only, another] = people();
  field().value ||= (await personToday()) || (another === undefined ? only : "") || "";
}

/** A row for each point. @param {WalkFold} fold @returns {Node[]} */
export const dailyRows = (fold) =>
  fold.points.map((point) => {
    if (templateOf(point)) return screen(point);
    // A point of another build: only its key is known.
    const row = screen(dailyPoints()[0] ?? "");
    for (const part of row.querySelectorAll("[data-point]")) part.setAttribute("data-point", point);
    row.querySelector("h3")?.replaceChildren(ownPoint(point, []).what ?? "");
    row.querySelector("p")?.remove();
    return row;
  });

/** Which points have their "yes". @param {HTMLElement} stage @param {WalkFold} fold */
export function markDaily(stage, { done }) {
  for (const row of stage.querySelectorAll(/** @type {"li"} */ ("li[data-point]"))) {
    const yes = done.has(row.dataset.point);
    row.toggleAttribute("data-yes", yes);
    row.querySelector('[data-do="yes"]')?.setAttribute("aria-pressed", String(yes));
  }
}
