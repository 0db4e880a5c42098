import { canLock } from "../store/locked.mjs";
import { pickedFolder } from "../store/folder.mjs";
import { watchLoading } from "./copy_in.mjs";
import { copyToFolder, makeCopy, makeTables } from "./copy_out.mjs";
import { reasonOf, say } from "./copy_status.mjs";
import { canPick, leaveFolder, pickFolder } from "./folder.mjs";

/** @param {string} selector @param {() => unknown} work */
const onTap = (selector, work) => document.querySelector(selector)?.addEventListener("click", () => void work());

/** The passphrase that was typed twice alike; null, and said, where it is no good. */
function passphraseTyped() {
  const [first, again] = document.querySelectorAll(/** @type {"input"} */ ("[data-passphrase]"));
  if (!first || !again) return null;
  const least = Number(first.dataset.passphrase);
  if (first.value.length < least) say("export-short", { n: least });
  else if (first.value !== again.value) say("export-not-alike");
  else return first.value;
  return null;
}

async function makeLocked() {
  const passphrase = passphraseTyped();
  if (passphrase === null || !(await makeCopy(passphrase))) return;
  // Nobody who takes the phone next shall make a copy that the maker can't open.
  for (const field of document.querySelectorAll(/** @type {"input"} */ ("[data-passphrase]"))) field.value = "";
}

/** What stands about the folder: whether one can be picked here, and which one was. */
async function showFolder() {
  const part = /** @type {HTMLElement | null} */ (document.querySelector("[data-folder]"));
  if (!part) return;
  const picked = await pickedFolder().catch(() => null);
  part.hidden = !canPick() && !picked;
  for (const each of part.querySelectorAll(/** @type {"p"} */ ("[data-folder-if]"))) each.hidden = (each.dataset.folderIf === "picked") !== Boolean(picked);
  for (const name of part.querySelectorAll("[data-folder-name]")) name.textContent = picked?.directory.name ?? "";
}

async function pick() {
  try {
    if (!(await pickFolder())) return;
    await showFolder();
    await copyToFolder(true);
  } catch (error) {
    say("folder-failed", { reason: reasonOf(error) });
  }
}

async function leave() {
  try {
    await leaveFolder();
    await showFolder();
    say("folder-left");
  } catch (error) {
    say("folder-failed", { reason: reasonOf(error) });
  }
}

/** The buttons for a copy of all records outside the browser, and back. @param {() => void} changed */
export function watchCopies(changed) {
  onTap("[data-export]", () => makeCopy());
  onTap("[data-export-locked]", makeLocked);
  onTap("[data-export-tables]", makeTables);
  onTap("[data-folder-pick]", pick);
  onTap("[data-folder-now]", () => copyToFolder(true));
  onTap("[data-folder-leave]", leave);
  for (const part of document.querySelectorAll(/** @type {"div"} */ ("[data-needs-lock]"))) part.hidden = !canLock();
  watchLoading(changed);
  void showFolder();
}
