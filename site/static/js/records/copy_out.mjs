import { handOver } from "../frame/share.mjs";
import { FORMAT, writeCopy } from "../store/backup.mjs";
import { dayOn } from "../store/clock.mjs";
import { countEvents, everyEvent } from "../store/events.mjs";
import { pickedFolder } from "../store/folder.mjs";
import { lock, LOCKED } from "../store/locked.mjs";
import { copied } from "./copy_age.mjs";
import { progress, reasonOf, say, tell } from "./copy_status.mjs";
import { keepInFolder } from "./folder.mjs";
import { spreadsheet } from "./spreadsheet.mjs";

/** Records on their way out: a copy, locked or not, into the folder that was picked or to whatever the phone shares with; tables. */

/**
 * @typedef {object} Made
 * @property {File} file
 * @property {number} records  how many it keeps from being lost
 * @property {number} unfit    how many of them keep it from being loaded again
 */

/** The file that waits for a second tap, of what it is. @type {(Made & {what: string}) | null} */
let ready = null;

/**
 * The share sheet wants a fresh tap; where making the file took too long, a second one hands it over.
 *
 * @param {string} what @param {() => Promise<Made>} make @returns {Promise<boolean>} Whether it went out.
 */
async function handOut(what, make) {
  try {
    if (ready?.what !== what) {
      ready = null;
      say("export-preparing");
      const made = await make();
      ready = { what, ...made };
      if (navigator.userActivation && !navigator.userActivation.isActive) {
        say("export-ready");
        return false;
      }
    }
    const { file, records, unfit } = ready;
    const outcome = await handOver(file);
    if (outcome !== "cancelled") {
      ready = null;
      if (records > 0 && unfit === 0) await copied(records);
    }
    if (outcome !== "cancelled" && unfit > 0) say("export-unfit", { n: unfit });
    else say(`export-${outcome}`);
    return outcome !== "cancelled";
  } catch (error) {
    say("export-failed", { reason: reasonOf(error) });
    return false;
  }
}

/** @param {string} [passphrase] "": whoever has the file can read it. */
export async function makeCopy(passphrase = "") {
  // A file that waits since before the newest record is not handed over.
  const records = await countEvents().catch(() => 0);
  return handOut(`copy ${records} ${passphrase}`, async () => {
    let unfit = 0;
    const plain = await writeCopy(everyEvent(progress), (n) => (unfit += n));
    const name = `${FORMAT}-${dayOn()}.json`;
    if (passphrase === "") return { file: new File([plain], name, { type: "application/json" }), records, unfit };
    say("export-locking");
    const locked = await lock(plain, passphrase, progress);
    return { file: new File([locked], name + LOCKED, { type: "application/octet-stream" }), records, unfit };
  });
}

/** Tables can't be loaded again, so they count for no copy. */
export const makeTables = () =>
  handOut("tables", async () => {
    const zip = await spreadsheet(() => everyEvent(), progress);
    return { file: new File([zip], `${FORMAT}-${dayOn()}.zip`, { type: "application/zip" }), records: 0, unfit: 0 };
  });

/** A copy at one tap: into the folder where one was picked. */
export async function copyAtATap() {
  if ((await pickedFolder().catch(() => null)) === null) await makeCopy();
  else await copyToFolder(true);
}

/**
 * Writes into the folder and says what came of it.
 *
 * @param {boolean} tapped Somebody has just asked for it; else nothing is said of a folder that nobody picked.
 */
export async function copyToFolder(tapped) {
  const to = tapped ? say : tell;
  try {
    if (tapped) say("export-preparing");
    const { outcome, folder } = await keepInFolder({ tapped, told: tapped ? progress : undefined });
    if (outcome !== "none") to(`folder-${outcome}`, { name: folder });
  } catch (error) {
    to("folder-failed", { reason: reasonOf(error) });
  }
}
