import { inOrder } from "./fold.mjs";

/** @import { TarewellEvent, WalkFold, WalkKind } from "./types.mjs" */

/** What is stored about one safety walk. @type {WalkKind[]} */
export const WALK_KINDS = ["walk_begun", "walk_answered", "walk_taken_back", "walk_cleared", "walk_signed", "walk_closed"];

/** @param {string} id */
export const walkSubject = (id) => `walk:${id}`;

/** A drawing shorter than this is the print of a palm. Its field is 600 wide. */
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

/**
 * A walk as its events leave it. Pure; order and doubles change nothing. A point is done by a "yes"; a "no" stops the walk
 * until somebody clears just that "no", whatever else is answered meanwhile on another phone. What is taken back or cleared
 * is asked again, and is to be signed again.
 *
 * @param {Iterable<TarewellEvent>} events Of this walk.
 * @returns {WalkFold | null} null where its beginning is missing.
 */
export function foldWalk(events) {
  const ordered = inOrder(events);
  const begun = ordered.find(({ kind }) => kind === "walk_begun");
  if (!begun) return null;
  const points = begun.points ?? [];
  const answers = ordered.filter(({ kind, point }) => kind === "walk_answered" && points.includes(point ?? ""));
  const pointOf = new Map(answers.map(({ id, point }) => [id, point]));
  // Backwards: who cleared it first counts.
  const cleared = new Map(ordered.filter(({ kind }) => kind === "walk_cleared").reverse().map((event) => [event.clears, event]));
  const stops = answers.filter(({ answer }) => answer === "no").map((no) => ({ no, cleared: cleared.get(no.id) ?? null }));
  /** @type {Map<string | undefined, TarewellEvent>} */
  const done = new Map();
  /** @type {TarewellEvent | null} */
  let signed = null;
  for (const event of ordered) {
    if (event.answer === "yes" && pointOf.has(event.id) && !done.has(event.point)) done.set(event.point, event);
    const named = event.kind === "walk_cleared" ? event.clears : event.kind === "walk_taken_back" ? event.takes : undefined;
    if (named !== undefined && done.delete(pointOf.get(named))) signed = null;
    const whole = done.size === new Set(points).size;
    if (event.kind === "walk_signed" && whole && isSignature(event.initials ?? "", event.path ?? "")) signed ??= event;
  }
  const index = points.findIndex((point) => !done.has(point));
  return {
    begun,
    points,
    index: index < 0 ? points.length : index,
    done,
    stops,
    stopped: stops.find((stop) => !stop.cleared)?.no ?? null,
    again: answers.filter(({ answer }) => answer === "again"),
    languages: [...new Set([...answers, ...(signed ? [signed] : [])].map(({ language }) => language ?? begun.language ?? ""))],
    signed,
    closed: ordered.find(({ kind }) => kind === "walk_closed") ?? null,
    last: ordered.at(-1)?.id ?? begun.id,
  };
}

/** The day on the calendar of the device on which it was stored. @param {TarewellEvent} event */
export const dayOf = ({ local }) => local.slice(0, 10);

/** A walk is of one day: its answers are about that day's people, air and floor. @param {WalkFold} walk @param {string} today */
export const isOver = ({ begun, signed, closed }, today) => Boolean(closed) || dayOf(signed ?? { ...begun, local: today }) !== dayOf(begun);

/** All walks, the newest first. @param {Iterable<TarewellEvent>} events @returns {WalkFold[]} */
export function foldWalks(events) {
  /** @type {Map<string, TarewellEvent[]>} */
  const bySubject = new Map();
  for (const event of inOrder(events)) bySubject.set(event.subject, [...(bySubject.get(event.subject) ?? []), event]);
  return [...bySubject.values()].flatMap((each) => foldWalk(each) ?? []).reverse();
}
