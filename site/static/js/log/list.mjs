/** The batch log: every batch with its state, the newest first, and what search leaves of them. Python has no part in it. */

import { decoded } from "../frame/address.mjs";
import { untilMade } from "../frame/made.mjs";
import { untilRead } from "../frame/unread.mjs";
import { dateWords, typedWays, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { foundIn, newestFirst, replacements, textOf, wordsOf } from "../rules/log_search.mjs";
import { allLog, makeLog, newestLog } from "../store/log.mjs";
import { pouredSaid, stateSaid, stateShown } from "./states.mjs";

/** @import { LogEntry } from "../rules/types.mjs" */

/** So many stand on a page of the list. */
const PAGE = 50;
/** So much of what was said of a deviation tells why it was found. */
const SNIPPET = 60;

/** What was read last. Until all of it is, the newest stand there and nothing is searched. */
const log = {
  /** The newest first. @type {LogEntry[]} */
  entries: [],
  /** How many there are in all; null until that is known. @type {number | null} */
  all: null,
  /** In which words are looked for, entry by entry; null until every entry is read. @type {string[] | null} */
  texts: null,
  /** @type {Map<string, string>} */
  replaced: new Map(),
  shown: PAGE,
};

/** @template {keyof HTMLElementTagNameMap} T @param {string} selector @param {T} _tag */
const find = (selector, _tag) => /** @type {HTMLElementTagNameMap[T] | null} */ (document.querySelector(selector));

/** Reads the log and shows it. While entries are still to be made, it says how far that is. */
export async function showLog() {
  const first = await untilMade((limit) => newestLog(log.shown, limit), makeLog, () => []);
  if (log.texts === null) {
    log.entries = first;
    log.all = first.length < log.shown ? first.length : null;
    showFound();
  }
  const all = await untilRead(allLog, () => []);
  // Where a copy came in meanwhile, its page says so and this is read again.
  if (all === null) return;
  log.entries = newestFirst(all);
  log.all = all.length;
  log.replaced = replacements(log.entries);
  log.texts = log.entries.map((entry) => textOf(entry, saidOf(entry)));
  showFound();
  find("[data-log-list]", "ul")?.toggleAttribute("data-log-all", true);
  performance.mark("tarewell-log");
}

/** How the page says days and numbers: to ask for each of ten thousand batches anew would take a second. @type {Map<string | number, string>} */
const told = new Map();

/** @template {string | number} T @param {T} key @param {(key: T) => string} say */
function once(key, say) {
  const words = told.get(key) ?? say(key);
  told.set(key, words);
  return words;
}

/** @param {LogEntry} entry What its line says in the page's language. */
function saidOf({ local, state, parts, deviations }) {
  const wrong = deviations > 0 ? [once(deviations, (n) => word("log-deviations", { n }))] : [];
  return [once(local.slice(0, 10), (day) => [dateWords(day), ...typedWays(day)].join("\n")), ...new Set([state, ...parts.map((part) => part.state)].map(stateSaid)), ...wrong];
}

/** Shows the batches in which every word that was typed is found. */
function showFound() {
  const list = find("[data-log-list]", "ul");
  const box = find("[data-log-search]", "input");
  if (!list || !box) return;
  const looked = wordsOf(box.value);
  const { texts, all } = log;
  if (looked.length > 0 && texts === null) return;
  const found = looked.length === 0 ? log.entries : log.entries.filter((_, n) => looked.every((each) => texts?.[n]?.includes(each)));
  const { sheetUrl = "" } = list.dataset;
  const lines = found.slice(0, log.shown).map((entry) => line(entry, looked, sheetUrl));
  // What stands there already stays: drawn anew under a finger, it would move what is being pressed.
  if (list.innerHTML !== lines.map(({ outerHTML }) => outerHTML).join("")) list.replaceChildren(...lines);
  const n = looked.length === 0 ? (all ?? found.length) : found.length;
  const count = find("[data-log-count]", "p");
  if (count) count.textContent = !all ? "" : word(looked.length > 0 ? "log-found" : "log-all", { n, all });
  show("[data-log-empty]", all === 0);
  show("[data-log-none]", all !== 0 && n === 0);
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
    ...(blocks > 1 ? [pouredSaid(entry) || word("log-blocks", { n: blocks })] : []),
    ...(counted.length > 0 ? [word("log-bars", { n: counted.reduce((sum, bars) => sum + bars, 0) })] : []),
    ...(deviations > 0 ? [word("log-deviations", { n: deviations })] : []),
    ...foundIn(entry, looked).map((text) => text.slice(0, SNIPPET)),
  ];
}

/** Search as it is typed. Its words stand in the address too, so that the way back leads to them. */
export function watchSearch() {
  const box = find("[data-log-search]", "input");
  if (!box) return;
  const named = () => (box.value = decoded(location.hash.slice(1)));
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
