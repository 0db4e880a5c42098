import { canonical } from "../rules/canonical.mjs";
import { BLOCK_KINDS, FILL_KINDS, isKind } from "../rules/kinds.mjs";
import { isAsDeclared } from "../rules/schema.mjs";
import { isObject, isText, NAME_LENGTH, sameKeys } from "../rules/shape.mjs";
import { END_OF_TIME } from "./clock.mjs";
import { Digest, itemsOf } from "./copy_file.mjs";
import { named, NAMES } from "./mode.mjs";

/** @import { Kind, TarewellEvent } from "../rules/types.mjs" */

/** A copy of the records outside the browser: one JSON file, the same bytes for the same records. Of practice it says so. */
export const FORMAT = named("records");
/** The words that refuse a copy of the other mode. Practice never counts, and in practice one's own would be lost. */
const OTHERS = new Map([[`${NAMES.own}-records`, "import-of-own"], [`${NAMES.practice}-records`, "import-of-practice"]]);
const VERSION = 1;

// A batch takes about 36 kB and 36 events: fifty thousand fit.
const LIMITS = { bytes: 2 * 1024 ** 3, depth: 8, text: 1_000_000, name: NAME_LENGTH, entries: 5000 };

/** Kinds that fill books. Of their events only what they are is kept when a copy has been looked through; all others are kept whole. @type {Kind[]} */
const BOOKS = ["issued", ...BLOCK_KINDS, ...FILL_KINDS];

/**
 * @param {AsyncIterable<TarewellEvent[]> | Iterable<TarewellEvent[]>} events In order, some at a time.
 * @returns {Promise<Blob>}
 */
export async function writeCopy(events) {
  const digest = new Digest();
  /** @type {BlobPart[]} */
  const parts = ['{"events":'];
  // A Blob may lie on disk; texts would stay in memory.
  for await (const some of events) parts.push(new Blob([digest.add(some)]));
  const { text, hex } = digest.end();
  parts.push(text, canonical({ format: FORMAT, sha256: hex, version: VERSION }).replace("{", ","));
  return new Blob(parts, { type: "application/json" });
}

/**
 * Reads a copy and refuses it whole at the first thing that is not as it should be.
 *
 * @param {Blob} file
 * @param {(share: number) => void} [told] Called with how much of it has been read.
 * @returns {Promise<{events: TarewellEvent[]} | {refused: string}>} `refused` is the key of the words. Of the
 *   events of sheets and blocks it holds only what they are; `eventsIn` gives them whole.
 */
export async function readCopy(file, told) {
  if (file.size > LIMITS.bytes) return { refused: "import-too-big" };
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
      isPlain &&= plain(value, LIMITS.depth);
      if (isPlain) digest.add(value);
      unknown ||= value.some((event) => isObject(event) && typeof event.kind === "string" && !isKind(event.kind));
      formed &&= isPlain && value.every(isEvent);
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
  if (digest.end().hex !== frame.sha256) return { refused: "import-damaged" };
  if (unknown) return { refused: "import-newer" };
  if (!formed || ids.size !== events.length) return { refused: "import-format" };
  return { events };
}

/** @param {TarewellEvent} event @returns {TarewellEvent} */
const outline = ({ id, at, local, kind, subject }) => ({ id, at, local, kind, subject });

/** The events of a copy that has been read and found right, some at a time. @param {Blob} file @param {(share: number) => void} [told] */
export const eventsIn = (file, told) => /** @type {AsyncGenerator<TarewellEvent[]>} */ (itemsOf(file, told));

/** @param {TarewellEvent[]} events @returns {Map<Kind, number>} */
export function countByKind(events) {
  const counts = new Map();
  for (const { kind } of events) counts.set(kind, (counts.get(kind) ?? 0) + 1);
  return counts;
}

/**
 * Plain data within the limits, without a key that would reach an object's prototype.
 *
 * @param {unknown} value
 * @param {number} depth
 * @param {boolean} [top] The list of events itself may be long.
 * @returns {boolean}
 */
function plain(value, depth, top = true) {
  if (value === null || typeof value === "boolean") return true;
  if (typeof value === "number") return Number.isFinite(value);
  if (typeof value === "string") return value.length <= LIMITS.text;
  if (depth === 0) return false;
  if (Array.isArray(value)) {
    return (top || value.length <= LIMITS.entries) && value.every((held) => plain(held, depth - 1, false));
  }
  const entries = Object.entries(/** @type {object} */ (value));
  return (
    entries.length <= LIMITS.entries &&
    entries.every(([key, held]) => key.length <= LIMITS.name && !FORBIDDEN.has(key) && plain(held, depth - 1, false))
  );
}

const FORBIDDEN = new Set(["__proto__", "constructor", "prototype"]);

/** Ids are made of plain letters: one with markup or a slash in it comes from nobody's Tarewell. */
const ID = /^[\w-]{1,64}$/;
/** The declaration holds items and walks to plain letters. A batch's code is the workshop's to choose. */
const SUBJECT = /^[a-z_]{1,40}:\P{Cc}{1,110}$/u;
const UTC = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;
const LOCAL = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d[+-]\d\d:\d\d$/;

/** @param {unknown} event @returns {event is TarewellEvent} */
function isEvent(event) {
  if (!isObject(event)) return false;
  const { id, at, local, subject } = event;
  return (
    isText(id) && ID.test(id) &&
    isText(subject) && SUBJECT.test(subject) &&
    isText(at) && UTC.test(at) && !Number.isNaN(Date.parse(at)) && at < END_OF_TIME &&
    isText(local) && LOCAL.test(local) && !Number.isNaN(Date.parse(local)) &&
    isAsDeclared(event)
  );
}

/** A phone's clock may be off by so much. [ms] */
const CLOCKS_DIFFER = 24 * 60 * 60 * 1000;

/** Events of a day that is still to come, by the clock of this device. @param {TarewellEvent[]} events @param {number} now [ms] */
export const ofTheFuture = (events, now) => events.filter(({ at }) => Date.parse(at) > now + CLOCKS_DIFFER);
