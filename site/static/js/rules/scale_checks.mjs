import { inOrder } from "./fold.mjs";
import { nameKey } from "./training.mjs";

/** @import { Step, TarewellEvent } from "./types.mjs" */

/** Note of a check that rests on an earlier one of the same shift, which `accepts` names. */
export const CHECKED_BEFORE = "checked-before";

/** The key of the step that looks at level, zero and check weight of the vessel's scale. */
export const SCALE_CHECK = "check:zero";

/** @param {string} scale */
export const scaleSubject = (scale) => `scale_check:${scale}`;

/** The scale that the vessel stands on, by its name; sheets of every age tell it by what is weighed into the vessel. @param {Pick<Step, "gross_text" | "scale" | "kind">[]} steps */
export const vesselScale = (steps) => steps.find(({ kind, gross_text }) => kind === "weigh" && gross_text !== null)?.scale ?? null;

/** What a check asks, as it was frozen: with another check weight, display or vessel it asks for something else. @param {Pick<Step, "how" | "stop">} step */
export const askedBy = ({ how, stop }) => [how, stop].filter(Boolean).join(" ");

/**
 * The check of a scale that still holds for this person: made today, of the very same things, and the scale not moved since.
 *
 * @param {TarewellEvent[]} events Of all scales. @param {string} scale @param {string} said @param {string} person
 * @param {(event: TarewellEvent) => boolean} isToday
 * @returns {TarewellEvent | null}
 */
export function checkThatHolds(events, scale, said, person, isToday) {
  const own = inOrder(events.filter((event) => event.scale === scale));
  const moved = own.findLastIndex(({ kind }) => kind === "scale_moved");
  return own.slice(moved + 1).findLast((event) =>
    event.kind === "scale_checked" && event.said === said && isToday(event) && nameKey(event.person ?? "") === nameKey(person)) ?? null;
}
