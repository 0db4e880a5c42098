/** Walks, daily checks and eyewash checks as their events. */
import assert from "node:assert/strict";

import { covered, openStops, trainings } from "../../site/static/js/rules/training.mjs";

let count = 0;
export const event = (kind, fields = {}) => {
  count += 1;
  const at = `2026-11-25T09:${String(Math.floor(count / 60)).padStart(2, "0")}:${String(count % 60).padStart(2, "0")}.000Z`;
  return { id: `e-${String(count).padStart(4, "0")}`, at, local: "2026-11-25T10:00:00+01:00", kind, subject: "walk:w1", ...fields };
};
export const begun = () =>
  event("walk_begun", {
    helper: "R", guide: "Q", language: "es", way: "read-do", phases: ["weigh"], points: ["weigh-a", "weigh-a/teach", "weigh-b"],
  });
export const yes = (point) => event("walk_answered", { point, answer: "yes" });
export const no = (point) => event("walk_answered", { point, answer: "no" });
export const signed = (fields = {}) => event("walk_signed", { person: "R", initials: "R", path: "", ...fields });
/** A walk from its beginning to its signature. */
export const walked = (fields = {}) => {
  const first = { ...begun(), ...fields };
  return [first, ...first.points.map(yes), signed()].map((each) => ({ ...each, subject: first.subject }));
};
export const REQUIRED = { weigh: ["weigh-a", "weigh-a/teach", "weigh-b"], tank: ["tank-a"] };
/** @param {Record<string, string>} wanted helper -> the last day on which the training holds */
export const holds = (events, phases, today, wanted, months = 12) =>
  assert.deepEqual(Object.fromEntries(covered(record(events, months), phases, today).map(({ helper, until }) => [helper, until])), wanted);
export const record = (events, months = 12) => ({ all: trainings(events, months), stops: openStops(events, REQUIRED), required: REQUIRED });

export const inRecord = (events, id) => events.some((each) => each.id === id);

export const PHASED = { weigh: ["weigh-a", "weigh-a/teach", "weigh-b"], tank: ["tank-a"] };
/** A walk whose phases are signed one by one. */
export const phased = () => ({ ...begun(), phases: ["weigh", "tank"], points: Object.values(PHASED).flat(), by_phase: PHASED });
export const on = (day, ...events) => events.map((each) => ({ ...each, local: `${day}T10:00:00+01:00` }));
export const weigh = () => PHASED.weigh.map(yes);

export const DAILY_POINTS = ["daily-fit", "daily-air"];
export const daily = (fields = {}) => ({ ...begun(), helper: "Ana", guide: "Ana", way: "daily", phases: ["daily"], points: DAILY_POINTS, ...fields });

export const check = (fields) => event("eyewash_checked", { person: "Q", subject: "eyewash:weekly", order: "yes", way_free: "yes", tepid: "yes", ...fields });
