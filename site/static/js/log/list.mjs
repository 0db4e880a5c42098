/** The batch log: every batch with its state, the newest first, and what search leaves of them. Python has no part in it. */

import { untilRead } from "../frame/unread.mjs";
import { dateWords, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { foundIn, newestFirst, replacements, textOf, wordsOf } from "../rules/log_search.mjs";
import { allLog, makeLog } from "../store/log.mjs";
import { stateSaid, stateShown } from "./states.mjs";

/** @import { LogEntry } from "../rules/types.mjs" */

/** So many stand on a page of the list. */
const PAGE = 50;
/** So much of what was said of a deviation tells why it was found. */
const SNIPPET = 60;

/** What was read last: every batch with the text in which words are looked for. */
const log = {
  /** @type {{entry: LogEntry, text: string}[]} */
  lines: [],
  /** @type {Map<string, string>} */
  replaced: new Map(),
  shown: PAGE,
};

/** @template {keyof HTMLElementTagNameMap} T @param {string} selector @param {T} _tag */
const find = (selector, _tag) => /** @type {HTMLElementTagNameMap[T] | null} */ (document.querySelector(selector));

/** Reads the log and shows it. While entries are still to be made, it says how far that is. */
export async function showLog() {
  let entries = await untilRead(allLog, () => []);
  if (entries === null) {
    making(0);
    await untilRead(() => makeLog(making));
    entries = (await untilRead(allLog, () => [])) ?? [];
  }
  making(null);
  const ordered = newestFirst(entries);
  log.replaced = replacements(ordered);
  log.lines = ordered.map((entry) => ({ entry, text: textOf(entry, saidOf(entry)) }));
  showFound();
}

/** The bar while entries are made; null takes it away. @param {number | null} share */
function making(share) {
  const place = find("[data-log-making]", "div");
  const bar = find("[data-log-making] progress", "progress");
  if (place) place.hidden = share === null;
  if (bar) bar.value = share ?? 0;
}

/** How the page says days: a formatter for each of ten thousand batches would take a second. @type {Map<string, string>} */
const days = new Map();

/** @param {LogEntry} entry What its line says in the page's language. */
function saidOf({ local, state, parts, deviations }) {
  const day = local.slice(0, 10);
  const words = days.get(day) ?? dateWords(day);
  days.set(day, words);
  return [words, ...new Set([state, ...parts.map((part) => part.state)].map(stateSaid)), deviations > 0 ? word("log-deviations", { n: deviations }) : ""];
}

/** Shows the batches in which every word that was typed is found. */
function showFound() {
  const list = find("[data-log-list]", "ul");
  const box = find("[data-log-search]", "input");
  if (!list || !box) return;
  const looked = wordsOf(box.value);
  const found = looked.length === 0 ? log.lines : log.lines.filter(({ text }) => looked.every((each) => text.includes(each)));
  const { sheetUrl = "" } = list.dataset;
  list.replaceChildren(...found.slice(0, log.shown).map(({ entry }) => line(entry, looked, sheetUrl)));
  const [all, n] = [log.lines.length, found.length];
  const count = find("[data-log-count]", "p");
  if (count) count.textContent = all === 0 ? "" : word(looked.length > 0 ? "log-found" : "log-all", { n, all });
  show("[data-log-empty]", all === 0);
  show("[data-log-none]", all > 0 && n === 0);
  show("[data-log-more]", n > log.shown);
}

/** @param {string} selector @param {boolean} shown */
function show(selector, shown) {
  const place = find(selector, "div");
  if (place) place.hidden = !shown;
}

/** @param {LogEntry} entry @param {string[]} looked @param {string} address Of a batch's page. */
function line(entry, looked, address) {
  const item = document.createElement("li");
  const link = item.appendChild(document.createElement("a"));
  link.href = `${address}#${encodeURIComponent(entry.code)}`;
  const name = document.createElement("strong");
  name.textContent = entry.formulaName || entry.code;
  const code = document.createElement("span");
  code.textContent = entry.code;
  const when = document.createElement("time");
  when.dateTime = entry.local;
  when.textContent = whenWords(entry.local);
  const notes = document.createElement("small");
  notes.textContent = notesOf(entry, looked).join(" · ");
  link.append(name, stateShown(entry.state), " ", code, " ", when, " ", notes);
  return item;
}

/** @param {LogEntry} entry @param {string[]} looked */
function notesOf(entry, looked) {
  const { code, parts, blocks, deviations, twice } = entry;
  const counted = parts.flatMap(({ bars }) => bars ?? []);
  const newer = log.replaced.get(code);
  return [
    ...(newer ? [word("replaced-by", { code: newer })] : []),
    ...(twice ? [word("log-twice")] : []),
    ...(blocks > 1 ? [word("log-blocks", { n: blocks })] : []),
    ...(counted.length > 0 ? [word("log-bars", { n: counted.reduce((sum, bars) => sum + bars, 0) })] : []),
    ...(deviations > 0 ? [word("log-deviations", { n: deviations })] : []),
    ...foundIn(entry, looked).map((text) => text.slice(0, SNIPPET)),
  ];
}

/** Search as it is typed. Its words stand in the address too, so that the way back leads to them. */
export function watchSearch() {
  const box = find("[data-log-search]", "input");
  if (!box) return;
  const named = () => {
    try {
      box.value = decodeURIComponent(location.hash.slice(1));
    } catch {
      box.value = "";
    }
  };
  const typed = () => {
    log.shown = PAGE;
    history.replaceState(history.state, "", box.value === "" ? location.pathname : `#${encodeURIComponent(box.value)}`);
    showFound();
  };
  named();
  box.addEventListener("input", typed);
  addEventListener("hashchange", () => {
    named();
    showFound();
  });
  find("[data-log-more] button", "button")?.addEventListener("click", () => {
    log.shown += PAGE;
    showFound();
  });
}
