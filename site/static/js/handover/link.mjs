/**
 * A small copy of the records inside a link: "#1.", then the copy as `store/backup.mjs` writes it, packed (RFC 1951) and in the
 * alphabet of addresses (RFC 4648, 5). Its digest stands in the copy itself. What comes behind "#" goes to no server.
 */

const VERSION = "1";

/** So much fits into a code that a phone's camera still reads off another phone. [characters of the whole link] */
const MOST_IN_CODE = 1_200;

/** The longest part that is looked at, and how much may come out of it: a small part can be made to unpack without end. */
const LONGEST = 200_000;
const MOST_UNPACKED = 2_000_000;

/** Whether a camera can be expected to read it. @param {string} link */
export const fitsCode = (link) => link.length <= MOST_IN_CODE;

/** @param {Blob} copy @returns {Promise<string | null>} What stands behind "#"; null where this browser can't pack. */
export async function packed(copy) {
  if (!("CompressionStream" in globalThis)) return null;
  const bytes = await new Response(copy.stream().pipeThrough(new CompressionStream("deflate-raw"))).arrayBuffer();
  const text = btoa(Array.from(new Uint8Array(bytes), (byte) => String.fromCharCode(byte)).join(""));
  return `${VERSION}.${text.replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "")}`;
}

/**
 * The copy in a link. What it holds is not looked at yet: that is for `readCopy`, as with any other.
 *
 * @param {string} part What stands behind "#".
 * @returns {Promise<{copy: Blob} | {refused: string}>} `refused` is the key of the words.
 */
export async function unpacked(part) {
  const [, version, text = ""] = /^(\d{1,3})\.([\w-]*)$/.exec(part.slice(0, LONGEST + 1)) ?? [];
  if (version !== undefined && version !== VERSION) return { refused: "import-link-newer" };
  if (part.length > LONGEST) return { refused: "import-link-big" };
  if (version === undefined || text === "") return { refused: "import-link-damaged" };
  if (!("DecompressionStream" in globalThis)) return { refused: "import-link-unable" };
  /** @type {Uint8Array<ArrayBuffer>[]} */
  const parts = [];
  try {
    const bytes = Uint8Array.from(atob(text.replaceAll("-", "+").replaceAll("_", "/")), (letter) => letter.charCodeAt(0));
    const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
    for (let size = 0; ; ) {
      const { value, done } = await reader.read();
      if (done) break;
      size += value.length;
      if (size > MOST_UNPACKED) {
        await reader.cancel();
        return { refused: "import-link-big" };
      }
      parts.push(value);
    }
  } catch {
    return { refused: "import-link-damaged" };
  }
  return { copy: new Blob(parts, { type: "application/json" }) };
}
