/** @import { TarewellEvent } from "./types.mjs" */

/** What all ways of typing one lot's code have in common, as calc/workshop/lot_codes.py has it: blanks and the case of letters tell no lots apart. @param {string} code */
export const lotKey = (code) => code.replace(/\s+/g, "").toLowerCase();

/**
 * Of lots whose code was ever changed, what was saved: of all others the code that stands in their form says it all.
 *
 * @template {Pick<TarewellEvent, "subject" | "values">} T
 * @param {T[]} saves Of lots, in order.
 */
export function renamed(saves) {
  const changed = [...codesOf(saves)].filter(([, keys]) => keys.size > 1).map(([lot]) => lot);
  const lots = new Set(changed);
  return saves.filter(({ subject }) => lots.has(subject));
}

/**
 * The keys of every code that a lot ever bore which bore this one: some too many rather than one too few.
 *
 * @param {Pick<TarewellEvent, "subject" | "values">[]} saves Of lots. @returns {(code: string) => Set<string>}
 */
export function sameLots(saves) {
  const all = [...codesOf(saves).values()];
  return (code) => {
    const key = lotKey(code);
    return new Set([key, ...all.filter((keys) => keys.has(key)).flatMap((keys) => [...keys])]);
  };
}

/** @param {Pick<TarewellEvent, "subject" | "values">[]} saves @returns {Map<string, Set<string>>} */
function codesOf(saves) {
  /** @type {Map<string, Set<string>>} */
  const found = new Map();
  for (const { subject, values } of saves) {
    const key = lotKey(values?.code ?? "");
    if (key !== "") found.set(subject, (found.get(subject) ?? new Set()).add(key));
  }
  return found;
}
