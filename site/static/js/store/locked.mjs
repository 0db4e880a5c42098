import { canonical } from "../rules/canonical.mjs";
import { isObject, sameKeys } from "../rules/shape.mjs";

/**
 * A copy locked with a passphrase, so that whoever finds it reads nothing of it.
 *
 * The file is one line of JSON, then the copy in pieces, each encrypted by itself:
 *
 * - PBKDF2-HMAC-SHA-256 makes 32 bytes of the passphrase (Unicode NFKC) and the salt; HKDF-SHA-256 makes of these the key
 *   ("tarewell key") and 16 bytes ("tarewell check") by which a wrong passphrase is known before anything is decrypted.
 * - The pieces follow STREAM (Hoang, Reyhanitabar, Rogaway, Vizár: Online Authenticated-Encryption and its Nonce-Reuse
 *   Misuse-Resistance, 2015) over AES-256-GCM: the nonce is the piece's number in 11 bytes, then 1 for the last piece and 0
 *   for all others, so none can be dropped, doubled or moved. The salt is new for each file, and so is the key.
 * - The first line, with its line feed, is authenticated with every piece. Its own digest tells damage there from a wrong
 *   passphrase; against somebody who changes both, the pieces are.
 */

const FORMAT = "tarewell-locked-copy";
const VERSION = 1;
const KDF = "PBKDF2-HMAC-SHA-256";
const CIPHER = "AES-256-GCM";
/** OWASP, Password Storage Cheat Sheet: the least for PBKDF2-HMAC-SHA-256. More is read, up to what a phone does in a minute. */
const ITERATIONS = 600_000;
const MOST_ITERATIONS = 20_000_000;
/** How much is encrypted at a time, and what that adds. [bytes] */
const PIECE = 256 * 1024;
const TAG = 16;
/** The first line is far shorter. [bytes] */
const LONGEST_HEAD = 1024;
/** No copy is larger. [bytes] */
const LARGEST = 2 * 1024 ** 3 + 2 ** 20;

/** The end of a locked copy's name. */
export const LOCKED = ".locked";

/** Whether this page can lock and open copies at all: browsers do so on a safe address only. */
export const canLock = () => globalThis.crypto?.subtle !== undefined;

/** @param {string} text @returns {Uint8Array<ArrayBuffer>} */
const bytesOf = (text) => new TextEncoder().encode(text);

/** @param {ArrayBuffer | Uint8Array} bytes */
const hexOf = (bytes) => [...new Uint8Array(bytes)].map((byte) => byte.toString(16).padStart(2, "0")).join("");

/** @param {string} hex @returns {Uint8Array<ArrayBuffer>} */
const fromHex = (hex) => Uint8Array.from(hex.match(/../g) ?? [], (two) => parseInt(two, 16));

/**
 * @param {string} passphrase @param {string} salt @param {number} iterations
 * @returns {Promise<{key: CryptoKey, check: string}>}
 */
async function derived(passphrase, salt, iterations) {
  const typed = await crypto.subtle.importKey("raw", bytesOf(passphrase.normalize("NFKC")), "PBKDF2", false, ["deriveBits"]);
  const stretched = await crypto.subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt: fromHex(salt), iterations }, typed, 256);
  const master = await crypto.subtle.importKey("raw", stretched, "HKDF", false, ["deriveKey", "deriveBits"]);
  const hkdf = (/** @type {string} */ info) => ({ name: "HKDF", hash: "SHA-256", salt: new Uint8Array(), info: bytesOf(info) });
  const key = await crypto.subtle.deriveKey(hkdf("tarewell key"), master, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
  return { key, check: hexOf(await crypto.subtle.deriveBits(hkdf("tarewell check"), master, 128)) };
}

/** @param {Uint8Array<ArrayBuffer>} head @param {number} n @param {boolean} last */
function nonce(head, n, last) {
  const iv = new Uint8Array(12);
  new DataView(iv.buffer).setUint32(7, n);
  iv[11] = last ? 1 : 0;
  return { name: "AES-GCM", iv, additionalData: head };
}

/** @param {object} head @returns {Promise<string>} */
const digestOf = async (head) => hexOf(await crypto.subtle.digest("SHA-256", bytesOf(canonical(head))));

/**
 * @param {Blob} file @param {string} passphrase @param {(share: number) => void} [told] Called with how much is done.
 * @returns {Promise<Blob>}
 */
export async function lock(file, passphrase, told = () => {}) {
  const salt = hexOf(crypto.getRandomValues(new Uint8Array(16)));
  const { key, check } = await derived(passphrase, salt, ITERATIONS);
  const said = { check, cipher: CIPHER, format: FORMAT, iterations: ITERATIONS, kdf: KDF, salt, version: VERSION };
  const head = bytesOf(`${canonical({ ...said, sha256: await digestOf(said) })}\n`);
  /** @type {BlobPart[]} */
  const parts = [head];
  const pieces = Math.max(1, Math.ceil(file.size / PIECE));
  for (let n = 0; n < pieces; n += 1) {
    const plain = await file.slice(n * PIECE, (n + 1) * PIECE).arrayBuffer();
    // A Blob may lie on disk; bytes would stay in memory.
    parts.push(new Blob([await crypto.subtle.encrypt(nonce(head, n, n === pieces - 1), key, plain)]));
    told((n + 1) / pieces);
  }
  return new Blob(parts, { type: "application/octet-stream" });
}

/** The first line of a locked copy with its line feed; null where the file is none. @param {Blob} file */
async function headOf(file) {
  const begin = new Uint8Array(await file.slice(0, LONGEST_HEAD).arrayBuffer());
  const end = begin.indexOf(10);
  if (end < 0) return null;
  try {
    const said = JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(begin.subarray(0, end)));
    return isObject(said) && said.format === FORMAT ? { said, head: begin.slice(0, end + 1) } : null;
  } catch {
    return null;
  }
}

/** Whether a passphrase has to be asked for. @param {Blob} file */
export const isLocked = async (file) => (await headOf(file)) !== null;

/**
 * Opens a locked copy, whole or not at all. What it holds has still to be read by `readCopy`.
 *
 * @param {Blob} file @param {string} passphrase @param {(share: number) => void} [told] Called with how much is done.
 * @returns {Promise<{opened: Blob} | {refused: string}>} `refused` is the key of the words.
 */
export async function unlock(file, passphrase, told = () => {}) {
  const found = await headOf(file);
  if (!found) return { refused: "import-not-json" };
  if (file.size > LARGEST) return { refused: "import-too-big" };
  const { said, head } = found;
  if (said.version !== VERSION) return { refused: "import-newer" };
  if (!(await isHead(said))) return { refused: "import-damaged" };
  const { check, salt, iterations } = /** @type {{check: string, salt: string, iterations: number}} */ (said);
  const made = await derived(passphrase, salt, iterations);
  if (made.check !== check) return { refused: "import-passphrase" };
  /** @type {BlobPart[]} */
  const parts = [];
  const pieces = Math.max(1, Math.ceil((file.size - head.length) / (PIECE + TAG)));
  for (let n = 0; n < pieces; n += 1) {
    const at = head.length + n * (PIECE + TAG);
    const piece = await file.slice(at, at + PIECE + TAG).arrayBuffer();
    try {
      parts.push(new Blob([await crypto.subtle.decrypt(nonce(head, n, n === pieces - 1), made.key, piece)]));
    } catch {
      return { refused: "import-damaged" };
    }
    told((n + 1) / pieces);
  }
  return { opened: new Blob(parts, { type: "application/json" }) };
}

/** @param {Record<string, unknown>} said */
async function isHead({ sha256, ...said }) {
  const { check, cipher, iterations, kdf, salt } = said;
  const isHex = (/** @type {unknown} */ text) => typeof text === "string" && /^[0-9a-f]{32}$/.test(text);
  return (
    sameKeys(said, ["check", "cipher", "format", "iterations", "kdf", "salt", "version"]) &&
    cipher === CIPHER && kdf === KDF && isHex(check) && isHex(salt) &&
    typeof iterations === "number" && Number.isInteger(iterations) && iterations >= ITERATIONS && iterations <= MOST_ITERATIONS &&
    sha256 === (await digestOf(said))
  );
}
