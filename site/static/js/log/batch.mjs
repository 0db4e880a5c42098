/** The page of one batch. What is frozen or was folded is shown at once; what is reckoned is asked of Python. */

import { decoded } from "../frame/address.mjs";
import { app, question } from "../frame/app.mjs";
import { setFrozenHTML } from "../frame/frozen.mjs";
import { fault } from "../frame/notice.mjs";
import { Regions } from "../frame/regions.mjs";
import { untilRead } from "../frame/unread.mjs";
import { dateWords, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { closingOf } from "../rules/closing.mjs";
import { inOrder } from "../rules/fold.mjs";
import { logEntry } from "../rules/log.mjs";
import { waits } from "../rules/orders.mjs";
import { toRelease } from "../rules/sale.mjs";
import { replacementOf } from "../store/events.mjs";
import { allAbout } from "../store/log.mjs";
import { pouredSaid, stateShown } from "./states.mjs";

/** @import { LogEntry, LogPart, TarewellEvent } from "../rules/types.mjs" */

/** @param {string} selector @returns {HTMLElement | null} */
const find = (selector) => document.querySelector(selector);
const regions = new Regions([...document.querySelectorAll(/** @type {"div"} */ ('[data-answer="batch_record"]'))]);

/** Shows the batch that the address names. */
export async function showBatch() {
  const { hash } = location;
  const code = decoded(hash.slice(1));
  const events = await untilRead(() => allAbout(code), () => []);
  const entry = logEntry(events);
  const newer = entry ? await untilRead(() => replacementOf(code), () => null) : null;
  // Another one may have been asked for meanwhile.
  if (location.hash !== hash) return;
  showHead(code, entry, newer);
  const issued = events.find(({ kind }) => kind === "issued");
  if (!entry || !issued) return;
  const own = events.filter(({ kind }) => kind !== "issued");
  showDeeds(code, entry, issued, own);
  showClosed(own);
  await showRecord(hash, issued, own);
}

/** @param {string} selector @param {boolean} shown */
function show(selector, shown) {
  const place = find(selector);
  if (place) place.hidden = !shown;
}

/** @param {string} selector @param {string} text */
function say(selector, text) {
  const place = find(selector);
  if (place) place.textContent = text;
}

/** @param {string} code @param {LogEntry | null} entry @param {string | null} newer The sheet that was issued in its place. */
function showHead(code, entry, newer) {
  if (entry) {
    say("[data-batch-name]", entry.formulaName || entry.code);
    say("[data-batch-code]", entry.code);
    say("[data-batch-issued]", whenWords(entry.local));
    find("[data-batch-state]")?.replaceChildren(stateShown(entry.state), ` ${pouredSaid(entry)}`);
  }
  show("[data-batch-head]", entry !== null);
  show("[data-batch-deeds]", entry !== null);
  show("[data-batch-on]", entry !== null);
  show("[data-batch-missing]", entry === null && code !== "");
  show("[data-batch-none]", code === "");
  link("[data-batch-newer]", newer);
  show("[data-batch-replaced]", newer !== null);
  link("[data-batch-older]", entry?.replaces ?? null);
  show("[data-batch-replaces]", entry?.replaces !== undefined);
  show("[data-batch-twice]", entry?.twice === true);
  if (entry !== null) return;
  find("[data-batch-blocks]")?.replaceChildren();
  show('[data-answer="batch_record"]', false);
  show("[data-batch-frozen]", false);
}

/** To another batch's page. @param {string} selector @param {string | null} code */
function link(selector, code) {
  const place = document.querySelector(/** @type {"a"} */ (selector));
  if (!place || code === null) return;
  place.textContent = code;
  place.href = `#${encodeURIComponent(code)}`;
}

/** The ways from it. @param {string} code @param {LogEntry} entry @param {TarewellEvent} issued @param {TarewellEvent[]} events */
function showDeeds(code, entry, issued, events) {
  const { sheetUrl = "", scaleUrl = "", dryingUrl = "", rackUrl = "", releaseUrl = "", labelUrl = "", traceUrl = "" } = find("[data-batch-urls]")?.dataset ?? {};
  const named = encodeURIComponent(code);
  const sheet = document.querySelector(/** @type {"a"} */ ("[data-batch-sheet]"));
  if (sheet) sheet.href = `${sheetUrl}#${named}`;
  const weigh = document.querySelector(/** @type {"a"} */ ("[data-batch-weigh]"));
  if (weigh) {
    weigh.href = `${scaleUrl}#${named}`;
    weigh.hidden = entry.twice === true || !waits(issued, events);
    // Where a block went on, the next one may never be made.
    weigh.classList.toggle("main-button", entry.state === "issued" || entry.state === "weighing");
  }
  const block = toRelease(entry.parts);
  way("[data-batch-release]", block === null ? null : `${releaseUrl}#${named}:${block}`);
  way("[data-batch-label]", entry.formula === "" ? null : `${labelUrl}#${encodeURIComponent(entry.formula)}?${new URLSearchParams({ batch: code })}`);
  way("[data-batch-trace]", `${traceUrl}#${named}?kind=batch`);
  const racked = new Set(events.filter(({ kind }) => kind === "cure_racked" || kind === "racked").map(({ subject }) => subject.replace(/^.*\//, "")));
  const made = document.querySelector(/** @type {"template"} */ ("template[data-batch-block]"))?.content;
  const begun = entry.parts.filter(({ state }) => state !== "issued");
  find("[data-batch-blocks]")?.replaceChildren(...begun.flatMap((part) => {
    const item = made?.cloneNode(true);
    if (!(item instanceof DocumentFragment)) return [];
    const slot = (/** @type {string} */ name) => item.querySelector(`[data-slot-${name}]`);
    slot("block")?.append(word("block-n", { n: part.n }));
    slot("state")?.append(stateShown(part.state));
    slot("notes")?.append(notesOf(part).join(" · "));
    slot("record")?.setAttribute("href", `${scaleUrl}#${named}/${part.n}`);
    slot("rack")?.setAttribute("href", racked.has(String(part.n)) ? `${dryingUrl}#${named}:${part.n}` : `${rackUrl}`);
    if (!racked.has(String(part.n))) slot("rack")?.remove();
    return [item];
  }));
}

/** @param {string} selector @param {string | null} href null where there is no such way from this batch. */
function way(selector, href) {
  const place = document.querySelector(/** @type {"a"} */ (selector));
  if (!place) return;
  place.hidden = href === null;
  if (href !== null) place.href = href;
}

/** @param {LogPart} part */
const notesOf = ({ state, poured_on, bars, deviations }) => [
  ...(poured_on ? [state === "poured" ? dateWords(poured_on) : word("log-day-poured", { day: dateWords(poured_on) })] : []),
  ...(bars !== null ? [word("log-bars", { n: bars })] : []),
  ...(deviations > 0 ? [word("log-deviations", { n: deviations })] : []),
];

/** The frozen records of closed blocks: what stays readable when nothing can be reckoned. @param {TarewellEvent[]} events */
function showClosed(events) {
  const blocks = [...new Set(events.map(({ subject }) => subject))];
  const closed = blocks.flatMap((subject) => closingOf(inOrder(events), subject) ?? []).filter(({ html }) => html);
  const places = closed.map(({ html }) => {
    const place = document.createElement("div");
    setFrozenHTML(place, html ?? "");
    return place;
  });
  find("[data-batch-closed]")?.replaceChildren(...places);
}

/** @param {string} hash The address as it was asked. @param {TarewellEvent} issued @param {TarewellEvent[]} events */
async function showRecord(hash, issued, events) {
  const { html: sheet, ...record } = issued;
  const state = { units: app.state.units ?? "metric", record, events: inOrder(events).map(({ html, record: closing, ...event }) => event) };
  regions.busy();
  const reply = await question("batch_record", {}, { state });
  if (location.hash !== hash) return;
  if (reply?.off) regions.off(reply.off, true);
  else if (reply?.fault !== undefined) fault(reply.fault, reply.report ?? "");
  if (reply && !reply.off) regions.show(reply.html ?? {}, reply.ok === true);
  if (reply) show("[data-batch-frozen]", reply.ok !== true && find("[data-batch-closed]")?.firstChild !== null);
}
