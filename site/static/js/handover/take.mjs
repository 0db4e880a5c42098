/** The page that takes in what another phone handed over: it shows what came beside what is here, and stores it at a tap alone. */

import { markChosen, markOwn } from "../frame/flags.mjs";
import { setFrozenHTML } from "../frame/frozen.mjs";
import { screen } from "../frame/stage.mjs";
import { tellHere, tellOthers } from "../frame/tabs.mjs";
import { whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { futureWords, named } from "../records/copy_preview.mjs";
import { StoreError } from "../store/database.mjs";
import { IdTaken, merge } from "../store/events.mjs";
import { knowItems, lines } from "./fields.mjs";
import { fromFile, fromLink } from "./received.mjs";

/** @import { Compared } from "../rules/parcel.mjs" */
/** @import { Received } from "./received.mjs" */

const root = /** @type {HTMLElement} */ (document.querySelector("[data-take]"));

/** @param {string} selector */
const one = (selector) => /** @type {HTMLElement} */ (root.querySelector(selector));

/** The page's own parts, found before anything from elsewhere stands among them. */
const parts = {
  link: one("[data-take-from-link]"), list: one("[data-take-list]"), status: one("[data-take-status]"), done: one("[data-take-done]"),
  future: one("[data-take-future]"), deed: one("[data-take-deed]"), confirm: one("[data-take-confirm]"), file: /** @type {HTMLInputElement} */ (one("[data-take-file]")),
};

/** @param {string} key @param {Record<string, string | number>} [filled] */
const say = (key, filled) => (parts.status.textContent = key && word(key, filled));

/** Which reading is the newest: an older one may end later. */
let turn = 0;

/** Reads the link that the address holds, if it holds one. */
export async function takeLink() {
  const part = location.hash.slice(1);
  if (part === "" || document.getElementById(part)) return;
  parts.link.hidden = false;
  await show(() => fromLink(part));
}

/** @param {() => Promise<Received>} read */
async function show(read) {
  const mine = (turn += 1);
  parts.deed.hidden = true;
  parts.list.replaceChildren();
  parts.future.hidden = true;
  say("");
  /** @type {Received} */
  let received;
  try {
    received = await read();
  } catch (error) {
    received = { refused: error instanceof StoreError ? error.code : "import-link-damaged" };
  }
  if (mine !== turn) return;
  if ("refused" in received) return say(received.refused);
  const { came, compared } = received;
  knowItems(came);
  parts.list.replaceChildren(...compared.map(shown));
  const future = futureWords(compared.flatMap(({ event, how }) => (how === "same" ? [] : [event])));
  parts.future.hidden = future === "";
  parts.future.textContent = future;
  if (compared.every(({ how }) => how === "same")) return say("import-link-nothing");
  parts.deed.hidden = false;
  parts.confirm.onclick = () => void add(came);
}

/** @param {import("../rules/types.mjs").TarewellEvent[]} came */
async function add(came) {
  parts.deed.hidden = true;
  try {
    const n = await merge(came);
    markChosen();
    markOwn();
    tellOthers();
    tellHere();
    say("import-done", { n });
    parts.done.hidden = false;
  } catch (error) {
    if (error instanceof IdTaken) return say("import-clash");
    say("import-failed", { reason: error instanceof StoreError ? word(error.code) : String(error) });
    parts.deed.hidden = false;
  }
}

/** @param {Compared} each */
function shown({ event, here, how, fields }) {
  const [kind = ""] = event.subject.split(":");
  const { values = {}, code, formula, local, issued_by } = /** @type {any} */ (event);
  const part = screen("take-item", {
    kind: event.kind === "issued" ? "" : named(kind),
    sheet: event.kind === "issued",
    name: event.kind === "issued" ? code : values.name || values.code || "",
    of: event.kind === "issued" ? (formula?.name ?? "") : "",
    who: issued_by ?? "",
    when: whenWords(local),
    here: here && here.kind !== "removed" && how !== "same" ? whenWords(here.local) : "",
    gone: here?.kind === "removed",
    table: fields.length > 0,
    [how]: true,
    clash: how === "conflict" && event.kind === "issued",
    both: how === "conflict" && event.kind !== "issued",
    // The later one by the clock counts, whatever the numbers say.
    counts: here && event.kind !== "issued" && how !== "same" && event.at > here.at,
    stays: here && event.kind !== "issued" && how !== "same" && event.at <= here.at,
  });
  part.querySelector('[data-list="rows"]')?.append(...lines(kind, fields, here?.values ?? {}, values).map(({ label, before, after }) => {
    const row = screen("take-row", { field: label, before, after });
    if (!here) row.querySelector("[data-before]")?.remove();
    return row;
  }));
  if (!here) part.querySelector("[data-before]")?.remove();
  const sheet = /** @type {HTMLElement | null} */ (part.querySelector("[data-take-sheet]"));
  if (sheet) setFrozenHTML(sheet, event.html ?? "");
  return part;
}

export function watchTake() {
  parts.file.addEventListener("change", () => {
    const file = parts.file.files?.[0];
    parts.link.hidden = true;
    if (file) void show(() => fromFile(file));
  });
}
