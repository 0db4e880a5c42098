import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { mkdtemp, readFile, readdir, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { test } from "node:test";
import { fileURLToPath } from "node:url";
import { gunzipSync } from "node:zlib";
import { eventsIn, readCopy, writeCopy } from "../../../site/static/js/store/backup.mjs";

const COPIES = new URL("../../fixtures/copies/", import.meta.url);
const WRITE = fileURLToPath(new URL("../../../site/shop/write_copy.mjs", import.meta.url));

/** What the shop server makes of these payloads. @param {string[]} payloads */
async function copyOf(payloads) {
  const folder = await mkdtemp(join(tmpdir(), "mailbox-"));
  const [spool, copy, left] = ["spool", "copy", "left"].map((name) => join(folder, name));
  await writeFile(spool, payloads.map((text) => JSON.stringify({ from: "aaaaaaaaaa", text }) + "\n").join(""));
  const told = JSON.parse(execFileSync(process.execPath, [WRITE, spool, copy, left], { encoding: "utf8" }));
  const file = new Blob([await readFile(copy)]);
  await rm(folder, { recursive: true });
  return { told, file };
}

const names = (await readdir(COPIES)).filter((name) => name.endsWith(".json.gz"));

for (const name of names) {
  test(`a copy of a mailbox with the events of ${name} is taken in, and is the one that the app itself writes`, async () => {
    const kept = JSON.parse(gunzipSync(await readFile(new URL(name, COPIES))).toString("utf8")).events;
    // Phones send in turn, some twice, keys in any order.
    const turned = kept.map((event) => JSON.stringify(Object.fromEntries(Object.entries(event).reverse())));
    const { told, file } = await copyOf([...turned.toReversed(), ...turned.slice(0, 9), "{", '{"id":"x","at":null}']);
    assert.deepEqual([told.records, told.left_out], [kept.length, 2]);
    const read = await readCopy(file);
    assert.equal(read.refused, undefined);
    assert.equal(read.sha256, told.sha256);
    const events = [];
    for await (const some of eventsIn(file, read.sha256)) events.push(...some);
    assert.equal(await (await writeCopy([events])).text(), await file.text());
    assert.deepEqual(new Set(events.map(({ id }) => id)), new Set(kept.map(({ id }) => id)));
  });
}
