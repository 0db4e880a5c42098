import { covered, nameKey, stopOf } from "../../store/training.mjs";

/** @import { Step, TarewellEvent } from "../../store/types.mjs" */

/**
 * What the training record says of a block: whose training covers its lye, and the walk whose stop the person at the scale
 * has open, "" where there is none.
 *
 * @typedef {{helpers: {helper: string, until: string}[], stop: string}} Standing
 */

/** Reading, stirring, drawing, weighing, dissolving, pouring. @param {Pick<Step, "key" | "pour">} step */
export const handlesLye = ({ key, pour }) => /^(?:lye:|temp:lye$|reserve:lye$)/.test(key) || Boolean(pour?.startsWith("lye:"));

/** @param {Parameters<typeof covered>[0]} record @param {string[]} phases @param {string} today @param {string} person @returns {Standing} */
export const standing = (record, phases, today, person) => ({
  helpers: covered(record, phases, today),
  stop: stopOf(record.stops, person, phases)?.subject ?? "",
});

/** What this person said last about it on a day. @param {TarewellEvent[]} events @param {string} person @param {(event: TarewellEvent) => boolean} isToday */
export const answerOf = (events, person, isToday) =>
  events.findLast((event) => event.kind === "trained" && isToday(event) && nameKey(event.person ?? "") === nameKey(person));

/** Whether what was said still holds: no stop has come since of the person at the scale, nor of the helper who was named. @param {TarewellEvent} answer @param {Standing} now */
export const stillHolds = ({ helper, stopped }, { helpers, stop }) =>
  (stop === "" || stop === stopped) && (!helper || helpers.some((each) => nameKey(each.helper) === nameKey(helper)));
