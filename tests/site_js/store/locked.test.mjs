/** Locked copies, against OpenSSL by Node's own library: nothing of the app's code is in what reads and writes them here. */
import assert from "node:assert/strict";
import { createCipheriv, createDecipheriv, createHash, hkdfSync, pbkdf2Sync, randomBytes } from "node:crypto";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { readCopy } from "../../../site/static/js/store/backup.mjs";
import { isLocked, lock, unlock } from "../../../site/static/js/store/locked.mjs";

const PHRASE = "heron reeds at low water";
const PIECE = 256 * 1024;
const SALT = randomBytes(16).toString("hex");

/** Slow on purpose, so done once for each salt. @type {Map<string, {key: Buffer, check: string}>} */
const KEYS = new Map();

/** By the description of the format alone. @param {{salt: string, iterations: number}} head @param {string} phrase */
function keyOf(head, phrase) {
  const known = KEYS.get(head.salt + phrase);
  if (known) return known;
  const master = pbkdf2Sync(phrase.normalize("NFKC"), Buffer.from(head.salt, "hex"), head.iterations, 32, "sha256");
  const out = (info, length) => Buffer.from(hkdfSync("sha256", master, "", info, length));
  KEYS.set(head.salt + phrase, { key: out("tarewell key", 32), check: out("tarewell check", 16).toString("hex") });
  return KEYS.get(head.salt + phrase);
}

const nonce = (n, last) => Buffer.from([...Array(7).fill(0), n >>> 24, (n >>> 16) & 255, (n >>> 8) & 255, n & 255, last ? 1 : 0]);

/** @param {Buffer} file @param {string} phrase @returns {Buffer} */
function opened(file, phrase) {
  const end = file.indexOf(10) + 1;
  const head = JSON.parse(file.subarray(0, end).toString());
  const { key, check } = keyOf(head, phrase);
  assert.equal(check, head.check);
  const pieces = Math.ceil((file.length - end) / (PIECE + 16));
  return Buffer.concat(Array.from({ length: pieces }, (_, n) => {
    const piece = file.subarray(end + n * (PIECE + 16), end + (n + 1) * (PIECE + 16));
    const cipher = createDecipheriv("aes-256-gcm", key, nonce(n, n === pieces - 1));
    cipher.setAAD(file.subarray(0, end));
    cipher.setAuthTag(piece.subarray(-16));
    return Buffer.concat([cipher.update(piece.subarray(0, -16)), cipher.final()]);
  }));
}

/** @param {Buffer} plain @param {object} [change] of the first line */
function lockedByHand(plain, change = {}) {
  const said = { check: "", cipher: "AES-256-GCM", format: "tarewell-locked-copy", iterations: 600000, kdf: "PBKDF2-HMAC-SHA-256", salt: SALT, version: 1 };
  const { key, check } = keyOf(said, PHRASE);
  Object.assign(said, { check }, change);
  const sorted = JSON.stringify(said, Object.keys(said).sort());
  const sha256 = createHash("sha256").update(sorted).digest("hex");
  const line = Buffer.from(`${JSON.stringify({ ...said, sha256 }, [...Object.keys(said), "sha256"].sort())}\n`);
  const cipher = createCipheriv("aes-256-gcm", key, nonce(0, true));
  cipher.setAAD(line);
  return Buffer.concat([line, cipher.update(plain), cipher.final(), cipher.getAuthTag()]);
}

const bytes = async (blob) => Buffer.from(await blob.arrayBuffer());
const refusal = async (file, phrase = PHRASE) => (await unlock(new Blob([file]), phrase)).refused;

test("what is locked opens by OpenSSL, and the other way round, of any length", async () => {
  for (const length of [0, 1000, PIECE, 2 * PIECE + 77]) {
    const plain = randomBytes(length);
    const file = await bytes(await lock(new Blob([plain]), PHRASE));
    assert.ok(opened(file, PHRASE).equals(plain), `${length} bytes`);
    const back = await unlock(new Blob([file]), PHRASE);
    assert.ok((await bytes(back.opened)).equals(plain), `${length} bytes back`);
  }
  const plain = randomBytes(3000);
  assert.ok((await bytes((await unlock(new Blob([lockedByHand(plain)]), PHRASE)).opened)).equals(plain));
});

test("the kept locked copy opens for ever: by OpenSSL and by the app, to a copy that is whole", async () => {
  const file = readFileSync(new URL("../../fixtures/copies/locked-1.json.locked", import.meta.url));
  const plain = opened(file, PHRASE);
  const back = await unlock(new Blob([file]), PHRASE);
  assert.ok((await bytes(back.opened)).equals(plain));
  const { events, sha256 } = JSON.parse(plain.toString());
  assert.equal(createHash("sha256").update(JSON.stringify(events)).digest("hex"), sha256);
  assert.equal((await readCopy(back.opened)).events.length, events.length);
});

test("no two files are locked alike, and nothing of the copy shows", async () => {
  const plain = new Blob(["Marsh Plain ".repeat(50)]);
  const [one, other] = await Promise.all([lock(plain, PHRASE), lock(plain, PHRASE)].map(async (made) => bytes(await made)));
  assert.notDeepEqual(one, other);
  assert.ok(!one.includes("Marsh"));
  assert.ok(await isLocked(new Blob([one])));
  assert.ok(!(await isLocked(new Blob(['{"events":[],"format":"tarewell-records"}\n']))));
});

test("a wrong passphrase is told from damage; a letter typed in another way is the same one", async () => {
  const file = await bytes(await lock(new Blob(["x"]), "caf\u00e9 de la mañana"));
  assert.equal(await refusal(file, "cafe de la mañana"), "import-passphrase");
  assert.equal(await refusal(file, ""), "import-passphrase");
  assert.equal(await refusal(file, "cafe\u0301 de la man\u0303ana"), undefined);
});

test("a flipped bit anywhere, an end cut off, a piece dropped, doubled or moved: refused whole", async () => {
  const plain = randomBytes(2 * PIECE + 500);
  const file = await bytes(await lock(new Blob([plain]), PHRASE));
  const end = file.indexOf(10) + 1;
  const piece = (n) => file.subarray(end + n * (PIECE + 16), end + (n + 1) * (PIECE + 16));
  const head = file.subarray(0, end);
  const changed = (at) => {
    const copy = Buffer.from(file);
    copy[at] ^= 1;
    return copy;
  };
  const places = [...Array.from({ length: end }, (_, n) => n).filter((n) => n % 23 === 0), end - 1, end, end + PIECE, file.length - 1];
  for (const at of places) {
    const said = await refusal(changed(at));
    assert.ok(["import-damaged", "import-not-json", "import-newer"].includes(said), `bit at ${at}: ${said}`);
  }
  for (const made of [
    file.subarray(0, -1), file.subarray(0, end + PIECE + 16), Buffer.concat([file, Buffer.from([0])]),
    Buffer.concat([head, piece(0), piece(2)]), Buffer.concat([head, piece(1), piece(0), piece(2)]),
  ]) assert.equal(await refusal(made), "import-damaged", `${made.length} bytes`);
});

test("a first line that asks for little or endless work, or for another way, is refused before any of it", async () => {
  for (const change of [{ iterations: 1000 }, { iterations: 1e12 }, { iterations: "600000" }, { cipher: "none" }, { kdf: "md5" }, { salt: "" }, { more: 1 }]) {
    assert.equal(await refusal(lockedByHand(Buffer.from("x"), change)), "import-damaged", JSON.stringify(change));
  }
  assert.equal(await refusal(lockedByHand(Buffer.from("x"), { version: 2 })), "import-newer");
});
