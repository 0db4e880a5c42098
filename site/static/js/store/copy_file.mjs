import { canonical } from "../rules/canonical.mjs";
import { Sha256 } from "./sha256.mjs";

/** A copy as a file, some events at a time: all of them at once may be more than a phone can hold. */

/** How much of a file is read at a time; what is done with it must not freeze the page. [bytes] */
const SLICE = 256 * 1024;
/** The most that one event takes, and what stands around all of them. [characters] */
const LONGEST = 8_000_000;
const LONGEST_FRAME = 10_000;

const QUOTE = 34;
const BACKSLASH = 92;
const COMMA = 44;
const LIST = 91;
const LIST_END = 93;
const OBJECT = 123;
const OBJECT_END = 125;

/** @param {Blob} file */
async function* textOf(file) {
  const decoder = new TextDecoder("utf-8", { fatal: true });
  let slice = file.slice(0, SLICE).arrayBuffer();
  for (let at = 0; at < file.size; at += SLICE) {
    const bytes = await slice;
    // The next one is on its way while this one is worked on.
    slice = file.slice(at + SLICE, at + 2 * SLICE).arrayBuffer();
    slice.catch(() => {});
    yield { text: decoder.decode(bytes, { stream: true }), share: Math.min((at + SLICE) / file.size, 1) };
  }
  yield { text: decoder.decode(), share: 1 };
}

/**
 * The items of the list in a JSON object, some at a time. At the end comes what the file holds besides them, with an empty
 * list in their place. Throws where it is not JSON, or holds a second list or object at that depth.
 *
 * @param {Blob} file
 * @param {(share: number) => void} [told] Called with how much of the file has been read.
 * @returns {AsyncGenerator<unknown[], unknown>}
 */
export async function* itemsOf(file, told = () => {}) {
  let frame = "";
  let held = "";
  let depth = 0;
  let lists = 0;
  let inList = false;
  let inText = false;
  let escaped = false;
  let items = 0;
  for await (const { text, share } of textOf(file)) {
    // Where in `held` the next character of this slice will stand, and up to where its items are complete.
    const from = held.length;
    held += text;
    let begin = 0;
    let complete = 0;
    /** @type {unknown[]} */
    const found = [];
    const take = (/** @type {boolean} */ last) => {
      const run = held.slice(begin, complete);
      const some = JSON.parse(`[${run}]`);
      // Between two commas something must stand; a list may be empty as a whole only.
      if (some.length === 0 && !(last && items === 0)) throw new SyntaxError("an item is missing");
      items += some.length;
      found.push(...some);
    };
    for (let n = from; n < held.length; n += 1) {
      const code = held.charCodeAt(n);
      if (inText) {
        if (escaped) escaped = false;
        else if (code === BACKSLASH) escaped = true;
        else if (code === QUOTE) inText = false;
      } else if (code === QUOTE) {
        inText = true;
      } else if (code === LIST || code === OBJECT) {
        depth += 1;
        if (depth === 2 && !inList) {
          if (code !== LIST || (lists += 1) > 1) throw new SyntaxError("not one list");
          inList = true;
          frame += held.slice(begin, n + 1);
          begin = complete = n + 1;
        }
      } else if (code === LIST_END || code === OBJECT_END) {
        depth -= 1;
        if (depth === 1 && inList) {
          complete = n;
          take(true);
          inList = false;
          begin = n;
        }
      } else if (code === COMMA && inList && depth === 2) {
        complete = n;
      }
    }
    if (inList && complete > begin) {
      take(false);
      begin = complete + 1;
    }
    if (!inList) {
      frame += held.slice(begin);
      begin = held.length;
    }
    held = held.slice(begin);
    if (held.length > LONGEST || frame.length > LONGEST_FRAME) throw new SyntaxError("too long");
    if (found.length > 0) yield found;
    told(share);
  }
  return JSON.parse(frame);
}

/** The digest of events in canonical form, as they come. */
export class Digest {
  constructor() {
    this.sum = new Sha256();
    this.encoder = new TextEncoder();
    this.before = "[";
  }

  /** @param {unknown[]} events @returns {string} Their text, with what joins it to the text before. */
  add(events) {
    const text = events.length > 0 ? this.before + events.map(canonical).join(",") : "";
    if (text) this.before = ",";
    this.sum.update(this.encoder.encode(text));
    return text;
  }

  /** @returns {{text: string, hex: string}} The end of the text, and the digest. */
  end() {
    const text = this.before === "[" ? "[]" : "]";
    this.sum.update(this.encoder.encode(text));
    return { text, hex: this.sum.hex() };
  }
}
