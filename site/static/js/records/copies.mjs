import { markChosen, markOwn } from "../frame/flags.mjs";
import { handOver } from "../frame/share.mjs";
import { tellOthers } from "../frame/tabs.mjs";
import { word } from "../frame/words.mjs";
import { eventsIn, FORMAT, readCopy, writeCopy } from "../store/backup.mjs";
import { dayOn } from "../store/clock.mjs";
import { StoreError } from "../store/database.mjs";
import { allIds, countEvents, everyEvent, IdTaken, merge, workshopLeft } from "../store/events.mjs";
import { copied } from "./copy_age.mjs";
import { showPreview } from "./copy_preview.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/** @param {string} key @param {Record<string, string | number>} [filled] */
function say(key, filled) {
  for (const place of document.querySelectorAll("[data-copy-status]")) {
    place.textContent = word(key, filled);
    // What stood above it may just have gone, and the page with it.
    place.scrollIntoView({ block: "nearest" });
  }
  progress(null);
}

/** How far long work has got. @param {number | null} share null: there is none */
function progress(share) {
  for (const bar of document.querySelectorAll(/** @type {"progress"} */ ("[data-copy-progress]"))) {
    bar.hidden = share === null;
    bar.value = share ?? 0;
  }
}

/** @param {unknown} error */
const reasonOf = (error) => (error instanceof StoreError ? word(error.code) : String(error));

/** The file that waits for a second tap, and how many records are in it. @type {{file: File, records: number} | null} */
let ready = null;

/** The share sheet wants a fresh tap; where making the file took too long, a second one hands it over. */
async function exportCopy() {
  try {
    if (!ready) {
      say("export-preparing");
      const name = `${FORMAT}-${dayOn()}.json`;
      const records = await countEvents();
      ready = { file: new File([await writeCopy(everyEvent(progress))], name, { type: "application/json" }), records };
      if (navigator.userActivation && !navigator.userActivation.isActive) return say("export-ready");
    }
    const { file, records } = ready;
    const outcome = await handOver(file);
    if (outcome !== "cancelled") {
      ready = null;
      copied(records);
    }
    say(`export-${outcome}`);
  } catch (error) {
    say("export-failed", { reason: reasonOf(error) });
  }
}

/**
 * @param {HTMLInputElement} input
 * @param {HTMLElement | null} preview
 * @param {HTMLButtonElement | null} confirm
 * @param {() => void} changed
 */
async function previewCopy(input, preview, confirm, changed) {
  const file = input.files?.[0];
  if (preview) preview.hidden = true;
  if (confirm) confirm.hidden = true;
  if (!file || !preview || !confirm) return;
  try {
    say("import-reading");
    const read = await readCopy(file, progress);
    if ("refused" in read) return say(read.refused);
    const known = await allIds();
    const added = read.events.filter((event) => !known.has(event.id));
    if (added.length === 0) return say("import-nothing");
    say("import-adds", { n: added.length });
    showPreview(preview, await workshopLeft(), added);
    preview.hidden = false;
    confirm.hidden = false;
    confirm.onclick = async () => {
      confirm.hidden = true;
      preview.hidden = true;
      await take(file, read.events.length, changed);
      input.value = "";
    };
  } catch (error) {
    say("import-failed", { reason: reasonOf(error) });
  }
}

/** @param {File} file @param {number} all How many events it holds. @param {() => void} changed */
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

/** The buttons for a copy of all records outside the browser, and back. @param {() => void} changed */
export function watchCopies(changed) {
  document.querySelector("[data-export]")?.addEventListener("click", () => void exportCopy());
  const input = document.querySelector("[data-import]");
  if (!(input instanceof HTMLInputElement)) return;
  /** @type {HTMLElement | null} */
  const preview = document.querySelector("[data-import-preview]");
  /** @type {HTMLButtonElement | null} */
  const confirm = document.querySelector("button[data-import-confirm]");
  input.addEventListener("change", () => void previewCopy(input, preview, confirm, changed));
}
