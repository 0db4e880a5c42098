import { inOrder } from "./fold.mjs";

/** @import { TarewellEvent, WalkFold, WalkKind } from "./types.mjs" */

/** What is stored about one safety walk. @type {WalkKind[]} */
export const WALK_KINDS = ["walk_begun", "walk_answered", "walk_cleared", "walk_signed"];

/** @param {string} id */
export const walkSubject = (id) => `walk:${id}`;

/**
 * A walk as its events leave it. Pure; order and doubles change nothing. A point is done by a "yes"; a "no" stops the walk
 * until somebody clears just that "no", whatever else is answered meanwhile on another phone.
 *
 * @param {Iterable<TarewellEvent>} events Of this walk.
 * @returns {WalkFold | null} null where its beginning is missing.
 */
export function foldWalk(events) {
  const ordered = inOrder(events);
  const begun = ordered.find(({ kind }) => kind === "walk_begun");
  if (!begun) return null;
  const points = begun.points ?? [];
  const cleared = new Set(ordered.filter(({ kind }) => kind === "walk_cleared").map(({ clears }) => clears));
  const answers = ordered.filter(({ kind, point }) => kind === "walk_answered" && points.includes(point ?? ""));
  const done = new Set(answers.filter(({ answer }) => answer === "yes").map(({ point }) => point));
  const index = points.findIndex((point) => !done.has(point));
  return {
    begun,
    points,
    index: index < 0 ? points.length : index,
    stopped: answers.find(({ id, answer }) => answer === "no" && !cleared.has(id)) ?? null,
    again: answers.filter(({ answer }) => answer === "again"),
    signed: ordered.find(({ kind }) => kind === "walk_signed") ?? null,
    last: ordered.at(-1)?.id ?? begun.id,
  };
}

/** All walks, the newest first. @param {Iterable<TarewellEvent>} events @returns {WalkFold[]} */
export function foldWalks(events) {
  /** @type {Map<string, TarewellEvent[]>} */
  const bySubject = new Map();
  for (const event of inOrder(events)) bySubject.set(event.subject, [...(bySubject.get(event.subject) ?? []), event]);
  return [...bySubject.values()].flatMap((each) => foldWalk(each) ?? []).reverse();
}
