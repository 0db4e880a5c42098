import { markChosen, markOwn } from "../frame/flags.mjs";
import { tellOthers } from "../frame/tabs.mjs";
import { eventsIn, readCopy } from "../store/backup.mjs";
import { allIds, IdTaken, merge, workshopLeft } from "../store/events.mjs";
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

/** @param {Parts} parts @param {() => void} changed */
async function chosen(parts, changed) {
  const file = parts.input.files?.[0];
  for (const part of [parts.locked, parts.preview, parts.confirm]) part.hidden = true;
  if (!file) return;
  try {
    if (!(await isLocked(file))) return await preview(file, parts, changed);
    parts.locked.hidden = false;
    say("import-locked");
    parts.locked.querySelector("input")?.focus();
  } catch (error) {
    say("import-failed", { reason: reasonOf(error) });
  }
}

/** @param {Parts} parts @param {() => void} changed */
async function opened(parts, changed) {
  const [file, field] = [parts.input.files?.[0], parts.locked.querySelector("input")];
  if (!file || !field) return;
  try {
    say("import-opening");
    const found = await unlock(file, field.value, progress);
    if ("refused" in found) return say(found.refused);
    field.value = "";
    parts.locked.hidden = true;
    await preview(found.opened, parts, changed);
  } catch (error) {
    say("import-failed", { reason: reasonOf(error) });
  }
}

/** @param {Blob} file @param {Parts} parts @param {() => void} changed */
async function preview(file, parts, changed) {
  say("import-reading");
  const read = await readCopy(file, progress);
  if ("refused" in read) return say(read.refused);
  const known = await allIds();
  const added = read.events.filter((event) => !known.has(event.id));
  if (added.length === 0) return say("import-nothing");
  say("import-adds", { n: added.length });
  showPreview(parts.preview, await workshopLeft(), added);
  parts.preview.hidden = false;
  parts.confirm.hidden = false;
  parts.confirm.onclick = async () => {
    parts.confirm.hidden = true;
    parts.preview.hidden = true;
    await take(file, read.events.length, changed);
    parts.input.value = "";
  };
}

/** @param {Blob} file @param {number} all How many events it holds. @param {() => void} changed */
async function take(file, all, changed) {
  try {
    say("import-taking");
    const n = await merge(() => eventsIn(file), (n) => progress(n / all));
    markChosen();
    markOwn();
    tellOthers();
    say("import-done", { n });
    changed();
  } catch (error) {
    if (error instanceof IdTaken) say("import-clash");
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
