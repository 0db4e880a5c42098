import { FORMAT, writeCopy } from "../store/backup.mjs";
import { clock, dayOn, localTime } from "../store/clock.mjs";
import { countEvents, everyEvent } from "../store/events.mjs";
import { keepFolder, pickedFolder } from "../store/folder.mjs";
import { remembered } from "../store/kept.mjs";
import { named } from "../store/mode.mjs";
import { copied, copyAge } from "./copy_age.mjs";
import { writeGeneration } from "./generations.mjs";

/** A folder that is picked once and written to by itself, where the browser knows how (File System Access). */

/** What the type checker has not heard of yet. @typedef {FileSystemDirectoryHandle & {queryPermission(of: object): Promise<PermissionState>, requestPermission(of: object): Promise<PermissionState>}} Asked */

const WRITE = { mode: "readwrite" };

/** Whether a folder can be picked in this browser. */
export const canPick = () => "showDirectoryPicker" in globalThis;

/** A name of four letters, by which this device knows its own copies in a folder that others write to as well. */
const newMark = () => clock.uuid().replaceAll("-", "").slice(0, 4);

/** Lets somebody pick the folder; to be called at a tap. @returns {Promise<boolean>} Whether one was picked. */
export async function pickFolder() {
  try {
    const directory = await /** @type {any} */ (globalThis).showDirectoryPicker({ ...WRITE, id: "tarewell-copies" });
    await keepFolder({ directory, mark: newMark() });
    return true;
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") return false;
    throw error;
  }
}

/** From now on none is written to; what lies there stays. */
export const leaveFolder = () => keepFolder(null);

/**
 * @typedef {"none" | "ask" | "lost" | "written" | "same" | "busy" | "unfit"} Outcome  none: no folder was picked; ask: the browser
 *   wants a tap first; lost: records are missing here; busy: another tab is writing; unfit: written, but no phone would load it.
 */

/**
 * Writes a copy into the folder that was picked.
 *
 * @param {{tapped: boolean, told?: (share: number) => void}} how `tapped`: somebody has just tapped, so the browser may ask them.
 * @returns {Promise<{outcome: Outcome, folder: string}>} Rejects where it could not be written.
 */
export async function keepInFolder({ tapped, told = () => {} }) {
  const picked = await pickedFolder();
  if (!picked) return { outcome: "none", folder: "" };
  const directory = /** @type {Asked} */ (picked.directory);
  const folder = directory.name;
  let may = await directory.queryPermission(WRITE);
  if (may === "prompt" && tapped) may = await directory.requestPermission(WRITE);
  if (may !== "granted") return { outcome: "ask", folder };
  return { outcome: await alone(() => write(picked, told)), folder };
}

/**
 * Once a day, and after each closed block, where something is new and the browser lets it. What fails here is told by the age
 * of the last copy, which stays as it is.
 */
export async function keepByItself() {
  try {
    const { last, since, closed } = await copyAge();
    if (since > 0 && (last !== dayOn() || closed > 0)) await keepInFolder({ tapped: false });
  } catch {
    // The next page tries again.
  }
}

/** @param {import("../store/database.mjs").Folder} picked @param {(share: number) => void} told @returns {Promise<Outcome>} */
async function write({ directory, mark }, told) {
  // Emptiness, or what a loss has left, is no copy.
  const here = await countEvents();
  if (here === 0 || here < remembered()) return "lost";
  let records = 0;
  const counted = async function* () {
    for await (const some of everyEvent(told)) {
      records += some.length;
      yield some;
    }
  };
  let unfit = 0;
  const blob = await writeCopy(counted(), (n) => (unfit += n));
  const named = { format: FORMAT, local: localTime(clock.now()) };
  let { outcome } = await writeGeneration(directory, { ...named, mark }, { blob, records });
  if (outcome === "fewer") {
    // Somebody has said that the rest is gone: the fuller copies stay, as another device's would.
    const again = newMark();
    await keepFolder({ directory, mark: again });
    ({ outcome } = await writeGeneration(directory, { ...named, mark: again }, { blob, records }));
  }
  if (unfit > 0) return "unfit";
  await copied(records);
  return outcome === "fewer" ? "lost" : outcome;
}

/** Two tabs that write at once would each take the other's copy for an old one. @param {() => Promise<Outcome>} work @returns {Promise<Outcome>} */
async function alone(work) {
  if (!navigator.locks) return work();
  return navigator.locks.request(named("folder"), { ifAvailable: true }, (lock) => (lock ? work() : "busy"));
}
