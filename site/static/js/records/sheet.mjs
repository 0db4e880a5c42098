import { decoded } from "../frame/address.mjs";
import { blockState } from "../frame/block_state.mjs";
import { setFrozenHTML } from "../frame/frozen.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { blockOf } from "../rules/block.mjs";
import { waits } from "../rules/orders.mjs";
import { batch, eventsOfBatch, replacementOf } from "../store/events.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** @param {string} selector @returns {HTMLElement | null} */
const find = (selector) => document.querySelector(selector);

/** Shows the issued sheet that the address names, as it was frozen. Python has no part in it. */
export async function showSheet() {
  const place = find("[data-sheet]");
  if (!place) return;
  const { hash } = location;
  const code = decoded(hash.slice(1));
  const sheets = await untilRead(() => batch(code), () => []);
  // Another one may have been asked for meanwhile.
  if (location.hash !== hash) return;
  place.replaceChildren();
  for (const sheet of sheets) setFrozenHTML(place.appendChild(document.createElement("div")), sheet.html ?? "");
  const known = sheets.length > 0;
  const name = find("[data-sheet-code]");
  if (name) name.textContent = known ? code : word("sheet-not-found");
  show("[data-print]", known);
  show("[data-whole]", known);
  show("[data-sheet-missing]", !known);
  const whole = /** @type {HTMLAnchorElement | null} */ (find("[data-all-url]"));
  if (whole) whole.href = `${whole.dataset.allUrl}#${encodeURIComponent(code)}`;
  show("[data-all-url]", known);
  show("[data-sheet-twice]", sheets.length > 1);
  const hand = /** @type {HTMLAnchorElement | null} */ (find("[data-hand-url]"));
  if (hand) hand.href = `${hand.dataset.handUrl}#batch/${encodeURIComponent(code)}`;
  show("[data-hand-url]", sheets.length === 1);
  const replacement = known ? await untilRead(() => replacementOf(code), () => null) : null;
  if (location.hash !== hash) return;
  show("[data-sheet-replaced]", replacement !== null);
  const link = /** @type {HTMLAnchorElement | null} */ (find("[data-sheet-replaced] a"));
  if (link && replacement !== null) {
    link.textContent = replacement;
    link.href = `#${encodeURIComponent(replacement)}`;
  }
  await showBlocks(code, sheets, hash);
}

/** The blocks that are begun or closed, each with the way to its record. @param {string} code @param {TarewellEvent[]} sheets @param {string} hash The address as it was asked. */
async function showBlocks(code, sheets, hash) {
  const place = find("[data-sheet-blocks]");
  const [issued] = sheets;
  if (!place) return;
  const events = issued && sheets.length === 1 ? await untilRead(() => eventsOfBatch(code), () => []) : [];
  if (location.hash !== hash) return;
  place.hidden = events.length === 0;
  weighLink(code, sheets, events);
  if (issued) place.querySelector("ul")?.replaceChildren(...blockLinks(issued, events, place.dataset.sheetBlocks ?? ""));
}

/** The way to each begun block, with how far it is. @param {TarewellEvent} issued @param {TarewellEvent[]} events Of its blocks. @param {string} scale The address of the page at the scale. */
function blockLinks(issued, events, scale) {
  const subjects = [...new Set(events.map(({ subject }) => subject))].sort((a, b) => blockOf(a)[1] - blockOf(b)[1]);
  return subjects.map((subject) => {
    const item = document.createElement("li");
    const link = item.appendChild(document.createElement("a"));
    const [code, n] = blockOf(subject);
    link.className = "button";
    link.href = `${scale}#${encodeURIComponent(code)}/${n}`;
    link.textContent = `${word("block-n", { n })}: ${blockState(issued, events.filter((event) => event.subject === subject))}`;
    return item;
  });
}

/** @param {string} selector @param {boolean} shown */
function show(selector, shown) {
  const element = find(selector);
  if (element) element.hidden = !shown;
}

/** The way to the scale, for the one sheet that can be weighed by; once nothing of it is left to weigh, to its record. @param {string} code @param {TarewellEvent[]} sheets @param {TarewellEvent[]} events Of its blocks. */
function weighLink(code, sheets, events) {
  const [issued] = sheets;
  const one = issued?.steps && sheets.length === 1 ? issued : null;
  for (const link of document.querySelectorAll(/** @type {"a"} */ ("[data-weigh-url], [data-record-url]"))) {
    const toRecord = link.dataset.recordUrl !== undefined;
    link.href = `${link.dataset.recordUrl ?? link.dataset.weighUrl}#${encodeURIComponent(code)}${toRecord && issued?.blocks === 1 ? "/1" : ""}`;
    link.hidden = !one || waits(one, events) === toRecord;
  }
}
