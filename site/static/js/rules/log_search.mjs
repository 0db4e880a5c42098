import { compare } from "./fold.mjs";

/** @import { LogEntry } from "./types.mjs" */

/** Of such a text nothing has to be taken apart: of ten thousand batches that takes longer than all else. */
const ASCII = /^[\x20-\x7e\s]*$/;

/** Letters as they are searched: of no case, without accents. @param {string} text */
export const plain = (text) => (ASCII.test(text) ? text : text.normalize("NFD").replace(/\p{M}/gu, "")).toLowerCase();

/** The words that were typed; each must be found. @param {string} typed */
export const wordsOf = (typed) => plain(typed).split(/\s+/).filter((word) => word !== "");

/**
 * All of an entry in which words are looked for.
 *
 * @param {LogEntry} entry @param {string[]} said How the page says its states, its day and that something deviated.
 */
export const textOf = ({ code, formulaName, local, lots, people, words, replaces = "" }, said) =>
  plain([code, formulaName, local.slice(0, 10), ...lots, ...people, ...words, replaces, ...said].join("\n"));

/** What of an entry shows why it was found, where its line tells nothing of that. @param {LogEntry} entry @param {string[]} looked @returns {string[]} */
export function foundIn({ code, formulaName, lots, people, words }, looked) {
  const told = plain(`${code}\n${formulaName}`);
  const missing = looked.filter((word) => !told.includes(word));
  return [...new Set(missing.flatMap((word) => [...lots, ...people, ...words].find((text) => plain(text).includes(word)) ?? []))];
}

/** The newest first. @param {LogEntry[]} entries */
export const newestFirst = (entries) => [...entries].sort((a, b) => compare(b.at, a.at) || compare(a.code, b.code));

/** By whose sheet a replaced one is weighed: old code -> new one; of several the newest. @param {LogEntry[]} entries The newest first. */
export const replacements = (entries) =>
  new Map(entries.flatMap(({ code, replaces }) => (replaces ? [/** @type {[string, string]} */ ([replaces, code])] : [])).reverse());
