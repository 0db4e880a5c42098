import { barOf, covered, nameKey } from "./training.mjs";

/** @import { Step, TarewellEvent } from "./types.mjs" */

/*
 * A block takes a `trained` from each person who weighs it, before its first step or on taking over. It says whose training
 * covers the block or why it goes on without, and how daily check and eyewash stood. Where nothing is missing, or the day's
 * answer still holds, it is stored unasked with that person's first deed. An open stop shuts the steps with lye, and no
 * reason opens them. The record frozen at closing tells all of it.
 */

/**
 * What the records say before a block.
 *
 * - `helpers`: whose training covers its lye.
 * - `stop`: the walk whose open stop keeps the person at the scale from lye; "" where there is none.
 * - `place`: the point of that stop, where it is about the place.
 * - `daily`: that person's daily check.
 * - `eyewash`: the checks that don't hold, "weekly" -> "over".
 *
 * @typedef {{helpers: {helper: string, until: string}[], stop: string, place: string}} Standing
 * @typedef {Standing & {daily: "held" | "missing", eyewash: Record<string, string>}} Readiness
 * @typedef {{helper: string | null, until?: string, reason: string | null, took_over?: true}} Said
 */

/** An answer holds for this long, also across midnight: nobody who gave it late is asked again in mid-block. [ms] */
const SHIFT = 6 * 3_600_000;

/** Whether lye is read, stirred, drawn, weighed, dissolved or poured in a step. @param {Pick<Step, "key" | "pour" | "pour_kind">} step */
export const handlesLye = (step) => /^(?:lye:|temp:lye$|reserve:lye$)/.test(step.key) || isOfLye(step);

/** Older steps have no kind of their pour frozen: its key tells it. @param {Pick<Step, "pour" | "pour_kind">} step */
const isOfLye = ({ pour, pour_kind: kind }) => (kind ? kind === "alkali" || kind === "lye made" : Boolean(pour?.startsWith("lye:")));

/** @param {Parameters<typeof covered>[0]} record @param {string[]} phases @param {string} today @param {string} person @returns {Standing} */
export const standing = (record, phases, today, person) => ({
  helpers: covered(record, phases, today),
  ...barHere(record.stops, person, phases),
});

/** @param {Parameters<typeof barOf>[0]} stops @param {string} person @param {string[]} phases @returns {Pick<Standing, "stop" | "place">} */
export function barHere(stops, person, phases) {
  const bar = barOf(stops, person, phases);
  return { stop: bar?.subject ?? "", place: bar?.place ?? "" };
}

/** What this person said last about it on a day. @param {TarewellEvent[]} events @param {string} person @param {(event: TarewellEvent) => boolean} isToday */
export const answerOf = (events, person, isToday) =>
  events.findLast((event) => event.kind === "trained" && isToday(event) && nameKey(event.person ?? "") === nameKey(person));

/** Whether it was said of this block today, or in the evening before. @param {TarewellEvent[]} events Of the block. @param {string} person @param {(event: TarewellEvent) => boolean} isToday @param {number} now */
export const saidHere = (events, person, isToday, now) =>
  answerOf(events, person, (event) => isToday(event) || withinShift(event, now));

/** @param {Pick<TarewellEvent, "at">} event @param {number} now */
const withinShift = ({ at }, now) => Math.abs(now - Date.parse(at)) < SHIFT;

/**
 * Whether something was weighed into the vessel in this shift. If so, nobody is asked between warm oil and lye. What stood
 * overnight can wait for an answer.
 *
 * @param {TarewellEvent[]} weighed Into the vessel. @param {(event: TarewellEvent) => boolean} isToday @param {number} now
 */
export const isInMidBlock = (weighed, isToday, now) => weighed.some((event) => isToday(event) || withinShift(event, now));

/** What is kept, without a question, when somebody takes a block over in its middle. @param {Standing} now @param {string} person @param {string} reason @returns {Said} */
export const takenOver = (now, person, reason) => ({ ...(ownCover(now, person) ?? { helper: null }), reason, took_over: true });

/** The person's own training, where it covers the block. @param {Standing} now @param {string} person */
export const ownCover = ({ helpers }, person) => helpers.find(({ helper }) => nameKey(helper) === nameKey(person));

/** Whether nothing but the choice of a helper is missing. @param {Readiness} now */
export const isInOrder = ({ daily, eyewash, stop }) => daily === "held" && stop === "" && Object.keys(eyewash).length === 0;

/**
 * What is kept with a block without a question. Either all is in order, or this person said today at another block why it
 * goes on, and nothing is missing now that was not missing then.
 *
 * @param {Readiness} now @param {string} person @param {TarewellEvent | undefined} answer Given today, at whatever block.
 * @returns {Said | null} null where it has to be asked.
 */
export function withoutQuestion(now, person, answer) {
  const own = ownCover(now, person);
  if (own && isInOrder(now)) return { ...own, reason: null };
  // An answer older than the daily check says nothing of it. One that was kept unasked on taking over holds for its block alone.
  if (!answer?.daily || answer.took_over || !stillHolds(answer, now)) return null;
  const grown =
    (now.daily === "missing" && answer.daily !== "missing") ||
    Object.entries(now.eyewash).some(([which, state]) => answer.eyewash?.[which] !== state);
  const { helper = null, until, reason = null } = answer;
  return grown ? null : { helper, ...(until ? { until } : {}), reason };
}

/** Whether what was said still holds: the person at the scale has no new stop, and the named helper's training still covers the block. @param {TarewellEvent} answer @param {Standing} now */
const stillHolds = ({ helper, stopped }, { helpers, stop }) =>
  (stop === "" || stop === stopped) && (!helper || helpers.some((each) => nameKey(each.helper) === nameKey(helper)));

/**
 * Whether an open stop keeps this person from the lye. Before the daily check was asked for, a reason could be given to go
 * on with just that stop open. A block begun that way goes on that way.
 *
 * @param {string} stop The walk of the stop. @param {TarewellEvent | undefined} answer Of this block.
 */
export const bars = (stop, answer) => stop !== "" && !(answer && !answer.daily && answer.stopped === stop);
