import { inOrder } from "./fold.mjs";

/** @import { TarewellEvent, WalkFold, WalkPart } from "./types.mjs" */

/** @param {string} id */
export const walkSubject = (id) => `walk:${id}`;

/** A drawing shorter than this is a palm's print. The field for it is 600 wide. */
const SHORTEST = 60;

/** Whether something was really drawn. @param {string} path "M10 20L30 40" */
export function isLine(path) {
  let length = 0;
  /** @type {[number, number]} */
  let from = [0, 0];
  for (const [, letter, x, y] of path.matchAll(/([ML])(\d+) (\d+)/g)) {
    /** @type {[number, number]} */
    const to = [Number(x), Number(y)];
    if (letter === "L") length += Math.hypot(to[0] - from[0], to[1] - from[1]);
    from = to;
  }
  return length >= SHORTEST;
}

/** Whether somebody has signed with it: letters, or a line. @param {string} initials @param {string} path */
export const isSignature = (initials, path) => /\p{L}/u.test(initials) || isLine(path);

/** The way of a daily check: its points fill one screen, one person answers them alone, and nobody signs it. */
export const DAILY = "daily";

/**
 * The parts of a walk that are signed on their own: its phases, which may be signed on different days. Walks begun before
 * that was so are of one piece.
 *
 * @param {TarewellEvent} begun @returns {{phase: string | null, phases: string[], points: string[]}[]}
 */
function partsOf({ by_phase, phases = [], points = [] }) {
  if (!by_phase) return [{ phase: null, phases, points }];
  return Object.entries(by_phase).map(([phase, of]) => ({ phase, phases: [phase], points: of }));
}

/**
 * A walk as its events leave it. Pure; the order of events and doubles change nothing.
 *
 * - What is asked is frozen in its beginning: the points, with the words of the maker's own, and a reason where the guide's
 *   own training doesn't cover it.
 * - A point is done by a "yes". An event that names the "yes" takes it back.
 * - A "no" stops the walk until somebody other than the helper clears just that "no" and says what was done. What another
 *   phone answers meanwhile doesn't clear it.
 * - A "no" to a point that lasts for the day (`other_day`) is cleared on another day. On its own day the person is in no
 *   walk, guides none and clears no stop (training.mjs).
 * - What is taken back or cleared is asked again, and must be signed again.
 * - Answers are about the people, air and floor of their day. So a phase is signed on the day on which all of it was answered,
 *   alone or with other phases. What nobody signed is asked anew on another day.
 * - Older walks are of one piece and of one day.
 * - A daily check is a walk of its own way: one person, one day, no signature. Its "no" stops that person in every phase; at
 *   a point marked `place` it bars everybody from lye.
 *
 * @param {Iterable<TarewellEvent>} events Of this walk.
 * @param {string} [today] Given where it matters what is left to ask. Without it, answers of any day count.
 * @returns {WalkFold | null} null where its beginning is missing.
 */
export function foldWalk(events, today = "") {
  const ordered = inOrder(events);
  const begun = ordered.find(({ kind }) => kind === "walk_begun");
  if (!begun) return null;
  /** @type {WalkPart[]} */
  const parts = partsOf(begun).map((part) => ({ ...part, done: new Map(), left: [], signed: null }));
  const points = parts.flatMap((part) => part.points);
  /** @param {string | undefined} point */
  const partOf = (point) => parts.find((part) => part.points.includes(point ?? ""));
  const answers = ordered.filter(({ kind, point }) => kind === "walk_answered" && points.includes(point ?? ""));
  const pointOf = new Map(answers.map(({ id, point }) => [id, point]));
  // Reversed, so that the first to clear it counts.
  const cleared = new Map(ordered.filter(({ kind }) => kind === "walk_cleared").reverse().map((event) => [event.clears, event]));
  const stops = answers.filter(({ answer }) => answer === "no").map((no) => ({ no, cleared: cleared.get(no.id) ?? null }));
  for (const event of ordered) {
    if (event.answer === "yes" && pointOf.has(event.id)) answered(partOf(event.point), event);
    const named = event.kind === "walk_cleared" ? event.clears : event.kind === "walk_taken_back" ? event.takes : undefined;
    const asked = partOf(pointOf.get(named ?? ""));
    if (asked?.done.delete(pointOf.get(named ?? ""))) asked.signed = null;
    if (event.kind === "walk_signed" && isSignature(event.initials ?? "", event.path ?? "")) {
      for (const part of parts) if (isWhole(part, event)) part.signed ??= event;
    }
  }
  for (const part of parts) part.left = part.points.filter((point) => !counts(part, part.done.get(point), today));
  const left = new Set(parts.flatMap((part) => part.left));
  const index = points.findIndex((point) => left.has(point));
  const signatures = [...new Set(parts.flatMap(({ signed }) => signed ?? []))];
  return {
    begun,
    points,
    parts,
    index: index < 0 ? points.length : index,
    done: new Map(parts.flatMap(({ done }) => [...done])),
    stops,
    stopped: stops.find((stop) => !stop.cleared)?.no ?? null,
    again: answers.filter(({ answer }) => answer === "again"),
    languages: [...new Set([...answers, ...signatures].map(({ language }) => language ?? begun.language ?? ""))],
    signed: parts.every(({ signed }) => signed) ? (inOrder(signatures).at(-1) ?? null) : null,
    closed: ordered.find(({ kind }) => kind === "walk_closed") ?? null,
    last: ordered.at(-1)?.id ?? begun.id,
  };
}

/** The first "yes" to a point counts; of a phase that nobody has signed yet, the first of the latest day. @param {WalkPart | undefined} part @param {TarewellEvent} yes */
function answered(part, yes) {
  const before = part?.done.get(yes.point);
  const anew = before && part?.phase !== null && !part?.signed && dayOf(before) !== dayOf(yes);
  if (!before || anew) part?.done.set(yes.point, yes);
}

/** Whether an answer stands on a day. @param {WalkPart} part @param {TarewellEvent | undefined} yes @param {string} today */
const counts = ({ phase, signed }, yes, today) =>
  yes !== undefined && (phase === null || signed !== null || today === "" || dayOf(yes) === today);

/** Whether a signature is for this part, and all of it was answered on its day. @param {WalkPart} part @param {TarewellEvent} event */
const isWhole = (part, event) =>
  part.points.every((point) => counts({ ...part, signed: null }, part.done.get(point), dayOf(event))) &&
  (part.phase === null || event.phases === undefined || event.phases.includes(part.phase));

/** The day on the calendar of the device on which it was stored. @param {TarewellEvent} event */
export const dayOf = ({ local }) => local.slice(0, 10);

/** A walk of one piece is of one day: its answers are about that day's people, air and floor. @param {WalkFold} walk @param {string} today */
export const isOver = ({ begun, signed, closed }, today) =>
  Boolean(closed) || (!begun.by_phase && dayOf(signed ?? { ...begun, local: today }) !== dayOf(begun));

/** All walks, the newest first. @param {Iterable<TarewellEvent>} events @param {string} [today] @returns {WalkFold[]} */
export function foldWalks(events, today) {
  /** @type {Map<string, TarewellEvent[]>} */
  const bySubject = new Map();
  for (const event of inOrder(events)) bySubject.set(event.subject, [...(bySubject.get(event.subject) ?? []), event]);
  return [...bySubject.values()].flatMap((each) => foldWalk(each, today) ?? []).reverse();
}
