/** What came from another phone, read and found right, beside what is stored here; or why it is refused. Nothing is stored. */

import { compared, isParcel } from "../rules/parcel.mjs";
import { eventsIn, readCopy } from "../store/backup.mjs";
import { batch, workshopLeft } from "../store/events.mjs";
import { unpacked } from "./link.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Compared } from "../rules/parcel.mjs" */

/** @typedef {{came: TarewellEvent[], compared: Compared[]} | {refused: string}} Received   `refused` is the key of the words. */

/** A file that is handed over is a sheet or some formulas; a larger one is a copy. [bytes] */
const MOST_BYTES = 8_000_000;

/**
 * Later than this nothing is taken over: each change to come is dated behind it, and would soon have no date left. A copy
 * may be of such a phone, so it is let in.
 */
const LATEST = "2099-12-31";

/** What is said of a link; all else is damage, for nobody can choose another file. @type {Record<string, string>} */
const OF_LINK = { "import-newer": "import-link-newer", "import-of-practice": "import-of-practice", "import-link-kinds": "import-link-kinds", "import-link-clock": "import-link-clock" };

/** @param {string} part What stands behind "#" in a link. @returns {Promise<Received>} */
export async function fromLink(part) {
  const found = await unpacked(part);
  if ("refused" in found) return found;
  const read = await fromFile(found.copy);
  return "refused" in read ? { refused: OF_LINK[read.refused] ?? "import-link-damaged" } : read;
}

/** @param {Blob} file @returns {Promise<Received>} */
export async function fromFile(file) {
  if (file.size > MOST_BYTES) return { refused: "import-link-kinds" };
  const read = await readCopy(file);
  if ("refused" in read) return read;
  if (!isParcel(read.events)) return { refused: "import-link-kinds" };
  if (read.events.some(({ at }) => at >= LATEST)) return { refused: "import-link-clock" };
  // Read once more: of sheets only an outline has been kept.
  /** @type {TarewellEvent[]} */
  const came = [];
  for await (const some of eventsIn(file, read.sha256)) came.push(...some);
  const sheets = await Promise.all(came.flatMap(({ kind, code }) => (kind === "issued" && code ? [batch(code)] : [])));
  return { came, compared: compared([...(await workshopLeft()), ...sheets.flat()], came) };
}
