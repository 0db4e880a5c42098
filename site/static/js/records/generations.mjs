/**
 * Copies in a folder, one file each: a new one is written beside the older ones, read back, and only then does the oldest
 * go. No file is ever written over.
 */

/** How many of this device's copies stay. */
export const KEPT = 3;
/** How much is compared at a time. [bytes] */
const SLICE = 1024 * 1024;

/** Something that was to be written is not there as it was. */
export class NotWritten extends Error {}

/**
 * @typedef {object} Generation
 * @property {string} name
 * @property {number} records
 * @property {number} size [bytes]
 */

/** @param {string} format @param {string} local When, by the clock on the wall. @param {string} mark @param {number} records */
const nameOf = (format, local, mark, records) =>
  `${format}-${local.slice(0, 19).replace("T", "-").replaceAll(":", "")}-${mark}-${records}.json`;

/** @param {string} format @param {string} mark */
const ours = (format, mark) => new RegExp(`^${format}-\\d{4}-\\d\\d-\\d\\d-\\d{6}-${mark}-(\\d+)\\.json$`);

/**
 * The copies that this device wrote, by their records: these only grow, a clock may be set back. One of no bytes was never finished and is none.
 *
 * @param {FileSystemDirectoryHandle} directory @param {string} format @param {string} mark
 * @returns {Promise<{whole: Generation[], unfinished: string[]}>}
 */
async function generations(directory, format, mark) {
  /** @type {Generation[]} */
  const whole = [];
  /** @type {string[]} */
  const unfinished = [];
  for await (const [name, handle] of directory.entries()) {
    const found = ours(format, mark).exec(name);
    if (!found || handle.kind !== "file") continue;
    const { size } = await /** @type {FileSystemFileHandle} */ (handle).getFile();
    if (size === 0) unfinished.push(name);
    else whole.push({ name, records: Number(found[1]), size });
  }
  return { whole: whole.sort((a, b) => a.records - b.records || (a.name < b.name ? -1 : 1)), unfinished };
}

/**
 * Writes a copy beside the last ones. It is not written where the last one has more records: then some are missing here.
 *
 * @param {FileSystemDirectoryHandle} directory
 * @param {{format: string, mark: string, local: string}} named
 * @param {{blob: Blob, records: number}} copy
 * @returns {Promise<{outcome: "written" | "same"} | {outcome: "fewer", had: number}>} Rejects where it could not be written.
 */
export async function writeGeneration(directory, { format, mark, local }, { blob, records }) {
  const { whole, unfinished } = await generations(directory, format, mark);
  const last = whole.at(-1);
  if (last && last.records > records) return { outcome: "fewer", had: last.records };
  // Events are never changed: as many are the same ones.
  if (last && last.records === records && last.size === blob.size) return { outcome: "same" };
  const name = nameOf(format, local, mark, records);
  if (whole.some((each) => each.name === name)) throw new NotWritten(name);
  const file = await directory.getFileHandle(name, { create: true });
  const stream = await file.createWritable();
  try {
    await stream.write(blob);
    // Until then it stands beside: the browser puts it in place whole.
    await stream.close();
    if (!(await same(await file.getFile(), blob))) throw new NotWritten(name);
  } catch (error) {
    await stream.abort().catch(() => {});
    await directory.removeEntry(name).catch(() => {});
    throw error;
  }
  const old = whole.slice(0, Math.max(0, whole.length + 1 - KEPT)).filter((each) => each.records <= records);
  for (const each of [...old.map(({ name }) => name), ...unfinished]) await directory.removeEntry(each).catch(() => {});
  return { outcome: "written" };
}

/** @param {Blob} one @param {Blob} other */
async function same(one, other) {
  if (one.size !== other.size) return false;
  for (let at = 0; at < one.size; at += SLICE) {
    const [a, b] = await Promise.all([one, other].map(async (blob) => new Uint8Array(await blob.slice(at, at + SLICE).arrayBuffer())));
    if (!a || !b || a.some((byte, n) => byte !== b[n])) return false;
  }
  return true;
}
