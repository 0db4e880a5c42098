import { screen } from "../frame/stage.mjs";
import { whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { differences } from "../rules/differences.mjs";
import { allApart, putAway } from "../store/apart.mjs";
import { StoreError } from "../store/database.mjs";
import { fieldWords, named } from "./copy_preview.mjs";

/** So many are told one by one at a time; the next ones follow once these are put away. */
const MOST = 20;
/** Stands above the table. */
const TOLD = ["at", "local"];

/** Tells which records came in two versions, and how they differ. */
export async function showApart() {
  const part = /** @type {HTMLElement | null} */ (document.querySelector("[data-apart]"));
  if (!part) return;
  try {
    const all = await allApart();
    part.hidden = all.length === 0;
    part.querySelector("[data-apart-list]")?.replaceChildren(...all.slice(0, MOST).map(item));
  } catch (error) {
    if (!(error instanceof StoreError)) throw error;
  }
}

/** @param {import("../store/apart.mjs").Apart} apart */
function item({ key, here, there }) {
  const [kind = ""] = here.subject.split(":");
  const saved = here.kind === "saved";
  const made = screen("apart-item", {
    what: saved ? [named(kind), here.values?.name].filter(Boolean).join(": ") : word(`kind-${here.kind}`, { n: 1 }),
    subject: saved ? "" : here.subject,
    here: whenWords(here.local),
    there: whenWords(there.local),
    by: there.person ?? "",
  });
  const rows = differences(here, there).filter(({ field }) => !TOLD.includes(field)).map(({ field, here: before, there: after }) =>
    screen("apart-row", { field: saved ? fieldWords(kind, field.replace(/^values\./, "")) : field, before, after }));
  made.querySelector('[data-list="rows"]')?.append(...rows);
  made.querySelector("button")?.addEventListener("click", () => void putAway(key).then(showApart));
  return made;
}
