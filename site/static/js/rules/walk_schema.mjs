import { isDay } from "./eyewash.mjs";
import { isObject, isText, sameKeys } from "./shape.mjs";

/** @import { SafetyKind } from "./types.mjs" */

/** What the events of walks, eyewash checks and trainings must look like, before a copy from outside is taken in. */

/** @typedef {(value: unknown) => boolean} Check */

/** @type {Check} */
const isName = (value) => isText(value);
/** @type {Check} */
const isNote = (value) => isText(value, 5000);
/** @param {...unknown} values @returns {Check} */
const oneOf = (...values) => (value) => values.includes(value);
/** @type {Check} */
const areNames = (value) => Array.isArray(value) && value.length > 0 && value.length <= 500 && value.every(isName);
/** Nothing but lines between points: it is put into a drawing. @type {Check} */
const isPath = (value) => typeof value === "string" && value.length <= 50_000 && /^(?:[ML]\d{1,4} \d{1,4})*$/.test(value);
/** @type {Check} */
const areWords = (value) => isObject(value) && sameKeys(value, ["what", "question", "stop"]) && Object.values(value).every(isNote);
/** A point of the maker's own, in the languages in which it is written; older ones stand in one that is not named. @type {Check} */
const isOwn = (value) => {
  if (!isObject(value)) return false;
  const { key, phase, ...said } = value;
  const languages = Object.entries(said);
  const named = languages.length > 0 && languages.every(([language, words]) => ["en", "es"].includes(language) && areWords(words));
  return isNote(key) && isNote(phase) && (named || areWords(said));
};
/** @type {Check} */
const areOwn = (value) => Array.isArray(value) && value.length <= 100 && value.every(isOwn);

/** @type {Record<string, Check>} */
const CHECKS = {
  helper: isName,
  guide: isName,
  language: oneOf("en", "es", "both"),
  // "do-confirm" is of older walks alone.
  way: oneOf("read-do", "do-confirm", "daily"),
  by_phase: (value) => isObject(value) && Object.entries(value).length > 0 && Object.entries(value).every(([phase, of]) => isName(phase) && areNames(of)),
  phases: areNames,
  points: areNames,
  own: areOwn,
  point: isName,
  answer: oneOf("yes", "no", "again"),
  clears: (value) => isText(value, 64),
  takes: (value) => isText(value, 64),
  day: (value) => isDay(value),
  order: oneOf("yes", "no"),
  way_free: oneOf("yes", "no"),
  tepid: oneOf("yes", "no"),
  person: isName,
  reason: isNote,
  initials: (value) => typeof value === "string" && value.length <= 20,
  path: isPath,
};

/** The id is made by this app. */
const WALK = /^walk:[\w-]{1,64}$/;

/** @type {Record<SafetyKind, [RegExp, string[], string[]]>} kind -> subject, what it must have, what it may have */
const SHAPES = {
  walk_begun: [WALK, ["helper", "guide", "language", "way", "phases", "points"], ["own", "reason", "by_phase"]],
  walk_answered: [WALK, ["point", "answer"], ["language"]],
  walk_taken_back: [WALK, ["takes"], []],
  walk_cleared: [WALK, ["clears", "person", "reason"], []],
  walk_signed: [WALK, ["person", "initials", "path"], ["language", "phases"]],
  walk_closed: [WALK, [], []],
  eyewash_checked: [/^eyewash:(weekly|yearly)$/, ["person"], ["day", "order", "way_free", "tepid"]],
};

/** Everything that these kinds may hold, for the copy's own list. @param {SafetyKind} kind */
export const heldBy = (kind) => [...SHAPES[kind][1], ...SHAPES[kind][2]];

export const SAFETY_KINDS = /** @type {SafetyKind[]} */ (Object.keys(SHAPES));

/** For events of these kinds. @param {Record<string, unknown>} event */
export function isSafetyEvent(event) {
  const [subject, must, may] = SHAPES[/** @type {SafetyKind} */ (event.kind)];
  return (
    subject.test(String(event.subject)) &&
    must.every((key) => CHECKS[key]?.(event[key])) &&
    may.every((key) => event[key] === undefined || CHECKS[key]?.(event[key]))
  );
}
