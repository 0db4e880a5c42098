import { clock, utc } from "./clock.mjs";
import { transact } from "./database.mjs";

/** @import { Folder } from "./database.mjs" */

/** Among the drafts, as what is kept of this device alone: no copy takes it along, and it goes with the records. */
const KEY = "records:folder";

/** The folder that copies are written to, null where none was picked. @returns {Promise<Folder | null>} */
export const pickedFolder = async () =>
  (await transact("readonly", (transaction) => transaction.objectStore("drafts").get(KEY)))?.folder ?? null;

/** @param {Folder | null} folder null: none from now on. @returns {Promise<void>} */
export const keepFolder = (folder) =>
  transact("readwrite", async (transaction) => {
    const drafts = transaction.objectStore("drafts");
    if (folder) await drafts.put({ key: KEY, values: {}, base: null, at: utc(clock.now()), folder });
    else await drafts.delete(KEY);
  });
