import { markChosen, markOwn } from "../frame/flags.mjs";
import { tellOthers } from "../frame/tabs.mjs";
import { CopyChanged, eventsIn, readCopy } from "../store/backup.mjs";
import { allIds, IdTaken, merge, Unfit, workshopLeft } from "../store/events.mjs";
import { isLocked, unlock } from "../store/locked.mjs";
import { showPreview } from "./copy_preview.mjs";
import { progress, reasonOf, say } from "./copy_status.mjs";

/**
 * @typedef {object} Parts  Of the page.
 * @property {HTMLInputElement} input
 * @property {HTMLElement} locked   where a locked copy's passphrase is asked
 * @property {HTMLElement} preview
 * @property {HTMLButtonElement} confirm
 */

/** Which file was chosen last: an older one's reading may end later. */
let turn = 0;

/**
 * Reads what was chosen, or opens it; says why it can't.
 *
 * @param {(told: (share: number) => void, current: () => boolean) => Promise<void>} work
 */
async function reading(work) {
  const mine = (turn += 1);
  const current = () => mine === turn;
  try {
    await work((share) => current() && progress(share), current);
  } catch (error) {
    if (current()) say("import-failed", { reason: reasonOf(error) });
  }
}

/** @param {Parts} parts @param {() => void} changed */
const chosen = (parts, changed) =>
  reading(async (told, current) => {
    const file = parts.input.files?.[0];
    for (const part of [parts.locked, parts.preview, parts.confirm]) part.hidden = true;
    if (!file) return;
    const locked = await isLocked(file);
    if (!current()) return;
    if (!locked) return preview(file, parts, changed, told, current);
    parts.locked.hidden = false;
    say("import-locked");
    parts.locked.querySelector("input")?.focus();
  });

/** @param {Parts} parts @param {() => void} changed */
const opened = (parts, changed) =>
  reading(async (told, current) => {
    const [file, field] = [parts.input.files?.[0], parts.locked.querySelector("input")];
    if (!file || !field) return;
    say("import-opening");
    const found = await unlock(file, field.value, told);
    if (!current()) return;
    if ("refused" in found) return say(found.refused);
    field.value = "";
    parts.locked.hidden = true;
    await preview(found.opened, parts, changed, told, current);
  });

/** @param {Blob} file @param {Parts} parts @param {() => void} changed @param {(share: number) => void} told @param {() => boolean} current */
async function preview(file, parts, changed, told, current) {
  say("import-reading");
  const read = await readCopy(file, told);
  if (!current()) return;
  if ("refused" in read) return say(read.refused);
  const [known, left] = await Promise.all([allIds(), workshopLeft()]);
  if (!current()) return;
  const added = read.events.filter((event) => !known.has(event.id));
  if (added.length === 0) return say("import-nothing");
  say("import-adds", { n: added.length });
  showPreview(parts.preview, left, added);
  parts.preview.hidden = false;
  parts.confirm.hidden = false;
  parts.confirm.onclick = async () => {
    parts.confirm.hidden = true;
    parts.preview.hidden = true;
    // Another file that is chosen meanwhile would be told of in this one's words.
    parts.input.disabled = true;
    await take(file, read, changed);
    parts.input.disabled = false;
    parts.input.value = "";
  };
}

/** Why a copy that was looked at is not taken in. @param {unknown} error @returns {string} The key of the words, "" for none. */
function refusalOf(error) {
  if (error instanceof IdTaken) return "import-clash";
  if (error instanceof CopyChanged) return "import-changed";
  return error instanceof Unfit ? "import-format" : "";
}

/** @param {Blob} file @param {{events: unknown[], sha256: string}} read As it was looked at. @param {() => void} changed */
async function take(file, { events, sha256 }, changed) {
  try {
    say("import-taking");
    const n = await merge(() => eventsIn(file, sha256), (n) => progress(n / events.length));
    markChosen();
    markOwn();
    tellOthers();
    say("import-done", { n });
    changed();
  } catch (error) {
    const key = refusalOf(error);
    if (key) say(key);
    else say("import-failed", { reason: reasonOf(error) });
  }
}

/** The way back of a copy. @param {() => void} changed */
export function watchLoading(changed) {
  const found = (/** @type {string} */ name) => /** @type {HTMLElement} */ (document.querySelector(`[data-import${name}]`));
  const parts = {
    input: /** @type {HTMLInputElement} */ (found("")),
    locked: found("-locked"),
    preview: found("-preview"),
    confirm: /** @type {HTMLButtonElement} */ (found("-confirm")),
  };
  parts.input.addEventListener("change", () => void chosen(parts, changed));
  parts.locked.querySelector("button")?.addEventListener("click", () => void opened(parts, changed));
}
