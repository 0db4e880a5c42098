/**
 * Writes the mailbox's events as one copy in the app's own format, by the app's own rules: what an event must be, how it is
 * written, how the digest is made. Run in node by copies.py:
 *
 *     node write_copy.mjs SPOOL COPY LEFT_OUT
 *
 * SPOOL has a line for each message, {"from": a phone, "text": its payload}. LEFT_OUT gets the lines of messages that are no
 * record, or that came under the number of another one. Prints {"records", "left_out", "sha256"}.
 */
import { createHash } from "node:crypto";
import { open } from "node:fs/promises";
import { canonical } from "../static/js/rules/canonical.mjs";
import { Digest } from "../static/js/store/copy_file.mjs";
import { fits } from "../static/js/store/fits.mjs";

const FORMAT = "tarewell-records";
const VERSION = 1;
/** How many are held at a time: one may be as large as the mailbox lets it be. */
const SOME = 50;
const NEWLINE = 10;

/** @typedef {{id: string, at: string, offset: number, length: number, digest: string}} Place  Where the line of a record lies. */

/** @param {import("node:fs/promises").FileHandle} file @returns {AsyncGenerator<{line: Buffer, offset: number}>} */
async function* linesOf(file) {
  let held = Buffer.alloc(0);
  let offset = 0;
  for await (const chunk of file.createReadStream({ autoClose: false, start: 0 })) {
    held = Buffer.concat([held, chunk]);
    for (let end = held.indexOf(NEWLINE); end >= 0; end = held.indexOf(NEWLINE)) {
      yield { line: held.subarray(0, end), offset };
      offset += end + 1;
      held = held.subarray(end + 1);
    }
  }
}

/** @param {Buffer} line @returns {any} The event, null where the message holds none. */
function eventOf(line) {
  try {
    return JSON.parse(JSON.parse(line.toString("utf8")).text);
  } catch {
    return null;
  }
}

const compare = (/** @type {string} */ a, /** @type {string} */ b) => (a < b ? -1 : Number(a > b));

/** @param {string} spoolPath @param {string} copyPath @param {string} leftPath */
async function write(spoolPath, copyPath, leftPath) {
  const spool = await open(spoolPath, "r");
  const copy = await open(copyPath, "wx", 0o600);
  const left = await open(leftPath, "wx", 0o600);
  /** @type {Map<string, Place>} */
  const places = new Map();
  let leftOut = 0;
  for await (const { line, offset } of linesOf(spool)) {
    const event = eventOf(line);
    const isRecord = event !== null && fits(event);
    const digest = isRecord ? createHash("sha256").update(canonical(event)).digest("base64") : "";
    const known = isRecord ? places.get(event.id) : undefined;
    if (known?.digest === digest) continue;
    if (isRecord && !known) {
      places.set(event.id, { id: event.id, at: event.at, offset, length: line.length, digest });
    } else {
      leftOut += 1;
      await left.write(Buffer.concat([line, Buffer.of(NEWLINE)]));
    }
  }
  const ordered = [...places.values()].sort((a, b) => compare(a.at, b.at) || compare(a.id, b.id));
  const digest = new Digest();
  await copy.write('{"events":');
  for (let n = 0; n < ordered.length; n += SOME) {
    const events = [];
    for (const { offset, length } of ordered.slice(n, n + SOME)) {
      const line = Buffer.alloc(length);
      await spool.read(line, 0, length, offset);
      events.push(eventOf(line));
    }
    await copy.write(digest.add(events));
  }
  const { text, hex } = digest.end();
  await copy.write(text + canonical({ format: FORMAT, sha256: hex, version: VERSION }).replace("{", ","));
  for (const file of [copy, left]) await file.sync();
  for (const file of [spool, copy, left]) await file.close();
  return { records: ordered.length, left_out: leftOut, sha256: hex };
}

const [spool = "", copy = "", left = ""] = process.argv.slice(2);
console.log(JSON.stringify(await write(spool, copy, left)));
