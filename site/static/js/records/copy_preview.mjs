import { word } from "../frame/words.mjs";
import { replacedBy } from "../rules/replacing.mjs";
import { countByKind, ofTheFuture } from "../store/backup.mjs";
import { clock, localTime } from "../store/clock.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Changed, Replaced } from "../rules/replacing.mjs" */

/** At most so many items are named one by one, each with at most so many of its fields. */
const MOST_ITEMS = 30;
const MOST_FIELDS = 12;

/**
 * Says before anything changes what a copy would replace, old beside new, and what it would add.
 *
 * @param {HTMLElement} place @param {TarewellEvent[]} stored @param {TarewellEvent[]} added
 */
export function showPreview(place, stored, added) {
  const replaced = replacedBy(stored, added);
  const future = futureWords(added);
  place.replaceChildren(
    ...(future === "" ? [] : [paragraph("caution", future)]),
    ...(replaced.length === 0 ? [] : [paragraph("caution", word("import-replaces")), list(replaced.slice(0, MOST_ITEMS).map(item))]),
    ...(replaced.length <= MOST_ITEMS ? [] : [paragraph("", word("import-more", { n: replaced.length - MOST_ITEMS }))]),
    list([...countByKind(added)].map(([kind, n]) => [word(`kind-${kind}`, { n })])),
  );
}

/** What is to be said of events of a day that is still to come, "" where there are none. @param {TarewellEvent[]} added */
export function futureWords(added) {
  const future = ofTheFuture(added, clock.now());
  const latest = future.map(({ at }) => at).sort().at(-1) ?? "";
  return future.length === 0 ? "" : word("import-future", { n: future.length, day: localTime(Date.parse(latest)).slice(0, 10) });
}

/** @param {Replaced} replaced @returns {(string | Node)[]} */
function item({ kind, name, removed, fields }) {
  const title = [named(kind), name].filter(Boolean).join(": ");
  if (removed) return [word("import-removes", { name: title })];
  const lines = fields.slice(0, MOST_FIELDS).map((changed) => [change(kind, changed)]);
  if (fields.length > MOST_FIELDS) lines.push([word("import-more", { n: fields.length - MOST_FIELDS })]);
  return [title, list(lines)];
}

/** @param {string} kind @param {Changed} changed */
function change(kind, { field, before, after }) {
  const nothing = word("import-empty");
  return word("import-change", { field: fieldWords(kind, field), before: before || nothing, after: after || nothing });
}

/** A field as its form calls it, one of a row with the row. @param {string} kind @param {string} field */
export function fieldWords(kind, field) {
  const [name = "", row, part] = field.split(".");
  return part === undefined ? named(`${kind}.${name}`) : word("import-row", { name: named(`${kind}.${name}`), n: Number(row) + 1, part: named(`${kind}.${name}.${part}`) });
}

/** The name of a kind or of a field, as its form has it. @param {string} key */
export function named(key) {
  const names = document.getElementById("field-names");
  const found = names instanceof HTMLTemplateElement && names.content.querySelector(`[data-named="${CSS.escape(key)}"]`);
  return found ? (found.textContent ?? key) : key;
}

/** @param {string} style @param {string} text */
function paragraph(style, text) {
  const made = document.createElement("p");
  made.className = style;
  made.textContent = text;
  return made;
}

/** @param {(string | Node)[][]} lines */
function list(lines) {
  const made = document.createElement("ul");
  for (const parts of lines) made.appendChild(document.createElement("li")).append(...parts);
  return made;
}
