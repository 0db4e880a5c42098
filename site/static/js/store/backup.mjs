import { canonical } from "../rules/canonical.mjs";
import { BLOCK_KINDS, FILL_KINDS, isKind } from "../rules/kinds.mjs";
import { isObject, sameKeys } from "../rules/shape.mjs";
import { Digest, itemsOf } from "./copy_file.mjs";
import { Refusal } from "./database.mjs";
import { arePlain, fits } from "./fits.mjs";
import { named, NAMES } from "./mode.mjs";

/** @import { Kind, TarewellEvent } from "../rules/types.mjs" */

/** A copy of the records outside the browser: one JSON file, the same bytes for the same records. Of practice it says so. */
export const FORMAT = named("records");
/** The words that refuse a copy of the other mode. Practice never counts, and in practice one's own would be lost. */
const OTHERS = new Map([[`${NAMES.own}-records`, "import-of-own"], [`${NAMES.practice}-records`, "import-of-practice"]]);
const VERSION = 1;

/** A batch takes about 36 kB and 36 events: fifty thousand fit. [bytes] */
const MOST = 2 * 1024 ** 3;

/** A copy is no longer the one that was read before. */
export class CopyChanged extends Refusal {}

/** Kinds that fill books. Of their events only what they are is kept when a copy has been looked through; all others are kept whole. @type {Kind[]} */
const BOOKS = ["issued", ...BLOCK_KINDS, ...FILL_KINDS];

/**
 * @param {AsyncIterable<TarewellEvent[]> | Iterable<TarewellEvent[]>} events In order, some at a time.
 * @param {(n: number) => void} [unfit] Told how many there are that `readCopy` refuses: an older build may have stored them.
 * @returns {Promise<Blob>}
 */
export async function writeCopy(events, unfit = () => {}) {
  const digest = new Digest();
  /** @type {BlobPart[]} */
  const parts = ['{"events":'];
  // A Blob may lie on disk; texts would stay in memory.
  for await (const some of events) {
    parts.push(new Blob([digest.add(some)]));
    const n = some.filter((event) => !fits(event)).length;
    if (n > 0) unfit(n);
  }
  const { text, hex } = digest.end();
  parts.push(text, canonical({ format: FORMAT, sha256: hex, version: VERSION }).replace("{", ","));
  return new Blob(parts, { type: "application/json" });
}

/**
 * Reads a copy and refuses it whole at the first thing that is not as it should be.
 *
 * @param {Blob} file
 * @param {(share: number) => void} [told] Called with how much of it has been read.
 * @returns {Promise<{events: TarewellEvent[], sha256: string} | {refused: string}>} `refused` is the key of the words. Of the
 *   events of sheets and blocks it holds only what they are; `eventsIn` gives them whole.
 */
export async function readCopy(file, told) {
  if (file.size > MOST) return { refused: "import-too-big" };
  const digest = new Digest();
  /** @type {TarewellEvent[]} */
  const events = [];
  const ids = new Set();
  let isPlain = true;
  let formed = true;
  /** Whether it holds a kind of record that this build has never heard of. */
  let unknown = false;
  /** @type {unknown} */
  let frame;
  try {
    const items = itemsOf(file, told);
    for (;;) {
      const { value, done } = await items.next();
      if (done) {
        frame = value;
        break;
      }
      isPlain &&= arePlain(value);
      if (isPlain) digest.add(value);
      unknown ||= value.some((event) => isObject(event) && typeof event.kind === "string" && !isKind(event.kind));
      formed &&= isPlain && value.every(fits);
      if (!formed) continue;
      for (const event of /** @type {TarewellEvent[]} */ (value)) {
        ids.add(event.id);
        events.push(BOOKS.includes(event.kind) ? outline(event) : event);
      }
    }
  } catch (error) {
    if (error instanceof DOMException) throw error;
    return { refused: "import-not-json" };
  }
  if (!isObject(frame) || typeof frame.format !== "string") return { refused: "import-not-json" };
  if (frame.format !== FORMAT) return { refused: OTHERS.get(frame.format) ?? "import-not-json" };
  if (frame.version !== VERSION) return { refused: "import-newer" };
  if (!sameKeys(frame, ["format", "version", "events", "sha256"]) || !Array.isArray(frame.events)) return { refused: "import-format" };
  if (!isPlain) return { refused: "import-format" };
  const sha256 = digest.end().hex;
  if (sha256 !== frame.sha256) return { refused: "import-damaged" };
  if (unknown) return { refused: "import-newer" };
  if (!formed || ids.size !== events.length) return { refused: "import-format" };
  return { events, sha256 };
}

/** @param {TarewellEvent} event @returns {TarewellEvent} */
const outline = ({ id, at, local, kind, subject }) => ({ id, at, local, kind, subject });

/**
 * The events of a copy that has been read and found right, some at a time. What has changed since, or can't be read any more,
 * is found out at the latest behind the last ones: until then nothing of them may be kept.
 *
 * @param {Blob} file @param {string} sha256 As it was read before.
 * @returns {AsyncGenerator<TarewellEvent[]>} Throws `CopyChanged`.
 */
export async function* eventsIn(file, sha256) {
  const digest = new Digest();
  const items = /** @type {AsyncGenerator<TarewellEvent[]>} */ (itemsOf(file));
  for (;;) {
    const { value: some, done } = await items.next().catch((error) => {
      throw new CopyChanged("it can't be read any more", { cause: error });
    });
    if (done) break;
    if (!arePlain(some)) throw new CopyChanged("it holds something else");
    digest.add(some);
    yield some;
  }
  if (digest.end().hex !== sha256) throw new CopyChanged("its digest is another one");
}

/** @param {TarewellEvent[]} events @returns {Map<Kind, number>} */
export function countByKind(events) {
  const counts = new Map();
  for (const { kind } of events) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  return counts;
}

/** A phone's clock may be off by so much. [ms] */
const CLOCKS_DIFFER = 24 * 60 * 60 * 1000;

/** Events of a day that is still to come, by the clock of this device. @param {TarewellEvent[]} events @param {number} now [ms] */
export const ofTheFuture = (events, now) => events.filter(({ at }) => Date.parse(at) > now + CLOCKS_DIFFER);
