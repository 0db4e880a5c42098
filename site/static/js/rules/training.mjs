import { compare, inOrder } from "./fold.mjs";
import { DAILY, dayOf, foldWalks, isOver } from "./walk.mjs";

/** @import { TarewellEvent, WalkFold, WalkPart } from "./types.mjs" */

/**
 * The day of the calendar some months later; where that month has no such day, its last.
 *
 * @param {string} day "2026-08-31" @param {number} months @returns {string}
 */
export function monthsAfter(day, months) {
  const [year = 0, month = 1, date = 1] = day.split("-").map(Number);
  const first = new Date(Date.UTC(year, month - 1 + months, 1));
  const last = new Date(Date.UTC(first.getUTCFullYear(), first.getUTCMonth() + 1, 0)).getUTCDate();
  first.setUTCDate(Math.min(date, last));
  return first.toISOString().slice(0, 10);
}

/** @param {string} day @param {number} days */
export function daysAfter(day, days) {
  const then = new Date(Date.parse(`${day}T00:00:00Z`) + days * 86_400_000);
  return Number.isNaN(then.getTime()) ? "" : then.toISOString().slice(0, 10);
}

/**
 * @typedef {Record<string, string[]>} Required   Phase -> every built-in point of it, by today's tables.
 *
 * @typedef {object} Trained   What one signature covers: phases of a walk, or an older walk as a whole.
 * @property {string} helper
 * @property {string} guide
 * @property {string} reason     why the guide led the walk without a training that covers it
 * @property {string[]} languages
 * @property {string} way
 * @property {string[]} phases
 * @property {string[]} points
 * @property {string} at         it was signed
 * @property {string[]} lapsed   points (for the maker's own points: their phases) at which this person was stopped later and
 *   which were not answered anew since
 * @property {string} day        it was signed, on the device's calendar
 * @property {string} until      last day it holds; "" where that is not known, for no renewal is set
 * @property {string[]} again    points whose answer was asked for again
 * @property {string} initials
 * @property {string} path       the drawn initials
 *
 * @typedef {object} OpenStop   A "no" that nobody has cleared.
 * @property {string} subject
 * @property {string} helper
 * @property {string[]} phases
 * @property {string} lasts     the day it lasts for, where nobody can put it right that day; "" where somebody can
 * @property {string} place     the point, where its "no" is about the place and keeps everybody from lye; "" where it is about the helper
 */

/** One person, however the name is typed: phones differ in whether they offer accents. @param {string} name */
export const nameKey = (name) => name.normalize("NFD").replace(/\p{M}/gu, "").trim().replace(/\s+/g, " ").toLowerCase();

/**
 * The training record: who was walked through what, the newest first. A phase counts from the day on which it was signed,
 * while no stop of it is open. An older walk of one piece counts if it was signed on the day it was begun.
 *
 * @param {Iterable<TarewellEvent>} events Of all walks.
 * @param {number | null} months After which it has to be renewed.
 * @returns {Trained[]}
 */
export function trainings(events, months) {
  const walks = foldWalks(events);
  const all = walks.flatMap((walk) => {
    const { begun, again } = walk;
    return signings(walk).map(({ signed, parts }) => {
      const points = parts.flatMap((part) => part.points);
      const answers = parts.flatMap(({ done }) => [...done.values()]);
      const day = dayOf(signed);
      return {
        helper: begun.helper ?? "",
        guide: begun.guide ?? "",
        reason: begun.reason ?? "",
        languages: [...new Set([...answers, signed].map(({ language }) => language ?? begun.language ?? ""))],
        way: begun.way ?? "",
        phases: parts.flatMap(({ phases }) => phases),
        points,
        at: signed.at,
        lapsed: lapsed(walks, begun, signed),
        day,
        until: months === null ? "" : monthsAfter(day, months),
        again: again.map(({ point }) => point ?? "").filter((point) => points.includes(point)),
        initials: signed.initials ?? "",
        path: signed.path ?? "",
      };
    });
  });
  return all.sort((a, b) => compare(b.at, a.at));
}

/** What of a walk counts as training, by signature. @param {WalkFold} walk @returns {{signed: TarewellEvent, parts: WalkPart[]}[]} */
function signings(walk) {
  const { begun, signed, stops, parts } = walk;
  if (!begun.by_phase && (!signed || isOver(walk, dayOf(signed)))) return [];
  const open = stops.filter(({ cleared }) => !cleared).map(({ no }) => no.point ?? "");
  const counting = parts.filter((part) => part.signed && !part.points.some((point) => open.includes(point)));
  const events = inOrder(new Set(counting.flatMap((part) => part.signed ?? [])));
  return events.map((event) => ({ signed: event, parts: counting.filter((part) => part.signed === event) }));
}

/**
 * What no longer counts of a helper's signed walk, because a later walk was stopped there. Clearing that stop answers
 * nothing: only a new answer does. The key of an own point may by now mean another point, so for it any walk through its
 * phase that was signed since is enough.
 *
 * @param {WalkFold[]} walks @param {TarewellEvent} begun @param {TarewellEvent} signed
 */
function lapsed(walks, { helper }, signed) {
  const mine = walks.filter(({ begun }) => nameKey(begun.helper ?? "") === nameKey(helper ?? ""));
  return mine.flatMap(({ begun, stops }) =>
    stops.flatMap(({ no }) => {
      const own = begun.own?.find(({ key }) => key === no.point);
      const anew = own ? signed.at > no.at : mine.some(({ done }) => (done.get(no.point)?.at ?? "") > no.at);
      return anew ? [] : [own ? own.phase : (no.point ?? "")];
    }),
  );
}

/**
 * Stops that are open, each with the phases that it keeps from counting: the phase of its point, or all phases of its walk
 * where the point is of another build. Who is unfit for the day is unfit in every phase. So is whoever a daily check stopped.
 *
 * @param {Iterable<TarewellEvent>} events Of all walks. @param {Required} required
 * @param {string[]} [lasting] Points whose "no" nobody can put right on its day. May be left out where their own phase is asked for.
 * @param {string[]} [place] Points whose "no" is about the place. May be left out where nobody asks about lye.
 * @returns {OpenStop[]}
 */
export const openStops = (events, required, lasting = [], place = []) =>
  foldWalks(events).flatMap(({ begun, parts, stops }) =>
    stops.filter(({ cleared }) => !cleared).map(({ no }) => {
      const point = no.point ?? "";
      const lasts = lasting.includes(point);
      const phase =
        Object.keys(required).find((each) => required[each]?.includes(point)) ?? begun.own?.find(({ key }) => key === point)?.phase;
      const walked = parts.find(({ points }) => points.includes(point))?.phases ?? [];
      const phases = lasts || begun.way === DAILY ? Object.keys(required) : phase ? [phase] : walked;
      return { subject: begun.subject, helper: begun.helper ?? "", phases, lasts: lasts ? dayOf(no) : "", place: place.includes(point) ? point : "" };
    }),
  );

/** An open stop that this person cannot be rid of today. @param {OpenStop[]} stops @param {string} person @param {string} today */
export const unfit = (stops, person, today) =>
  stops.find(({ helper, lasts }) => nameKey(helper) === nameKey(person) && lasts !== "" && lasts >= today);

/** An open stop of this person in one of these phases. @param {OpenStop[]} stops @param {string} helper @param {string[]} phases */
export const stopOf = (stops, helper, phases) =>
  stops.find((stop) => nameKey(stop.helper) === nameKey(helper) && stop.phases.some((phase) => phases.includes(phase)));

/**
 * An open stop that keeps this person from lye: one of their own, or one about the place, whoever found it.
 *
 * @param {OpenStop[]} stops @param {string} person @param {string[]} phases
 */
export const barOf = (stops, person, phases) =>
  stopOf(stops, person, phases) ?? stops.find((stop) => stop.place && stop.phases.some((phase) => phases.includes(phase)));

/**
 * Whose training covers all of these phases on a day, each person once, and until when. Every point of each phase must have
 * been answered in a walk that still holds, and again since the last stop at it. No stop of the phases may be open. Where it
 * is not known how long a training holds, nobody's does.
 *
 * @param {{all: Trained[], stops: OpenStop[], required: Required}} record @param {string[]} phases @param {string} today
 * @returns {{helper: string, until: string}[]}
 */
export function covered({ all, stops, required }, phases, today) {
  // The newest walk comes first: its spelling of a name is the one that is shown.
  const helpers = new Map([...all].reverse().map(({ helper }) => [nameKey(helper), helper]));
  /** The last day on which a phase is covered; "" where it is not. @param {string} key @param {string} phase */
  const holds = (key, phase) =>
    all
      .filter(
        ({ helper, until, day, phases: walked, points, lapsed }) =>
          nameKey(helper) === key && day <= today && until >= today && walked.includes(phase) && !lapsed.includes(phase) &&
          required[phase]?.every((point) => points.includes(point) && !lapsed.includes(point)),
      )
      .map(({ until }) => until).sort().at(-1) ?? "";
  return [...helpers]
    .filter(([key]) => !stopOf(stops, key, phases))
    .map(([key, helper]) => ({ helper, until: phases.map((phase) => holds(key, phase)).sort()[0] ?? "" }))
    .filter(({ until }) => until !== "");
}

/** Whether this person's training covers all of these phases on a day. @param {Parameters<typeof covered>[0]} record @param {string} person @param {string[]} phases @param {string} today */
export const covers = (record, person, phases, today) =>
  covered(record, phases, today).some(({ helper }) => nameKey(helper) === nameKey(person));

/** The daily check of one person on a day, done or in hand. @param {WalkFold[]} walks @param {string} person @param {string} today */
export const dailyOf = (walks, person, today) =>
  walks.find((walk) => isDaily(walk) && !walk.closed && dayOf(walk.begun) === today && nameKey(walk.begun.helper ?? "") === nameKey(person));

/** @param {WalkFold} walk */
export const isDaily = ({ begun }) => begun.way === DAILY;

/** Whether every point of a daily check has its "yes". @param {WalkFold | undefined} daily */
export const isReady = (daily) => daily !== undefined && !daily.stopped && daily.index === daily.points.length;
