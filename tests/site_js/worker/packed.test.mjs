import assert from "node:assert/strict";
import { test } from "node:test";
import { gzipSync } from "node:zlib";

import { isPacked, unpacked } from "../../../site/static/js/worker/packed.mjs";
import { PAGE, writeSnapshot } from "../../../site/static/js/worker/sparse.mjs";

const buffer = (/** @type {Uint8Array} */ bytes) => /** @type {ArrayBuffer} */ (Uint8Array.from(bytes).buffer);
const plain = writeSnapshot(new Uint8Array(8 * PAGE).fill(7), new Uint8Array(8 * PAGE), { build: "b", references: {} });

test("what has come packed is unpacked, what has come plain stays", async () => {
  for (const come of [plain, gzipSync(plain)]) assert.deepEqual(new Uint8Array(await unpacked(buffer(come))), plain);
  assert.equal(isPacked(buffer(plain)), false);
  assert.equal(isPacked(new ArrayBuffer(0)), false);
});

test("half of what was packed is refused", async () => {
  const packed = gzipSync(plain);
  await assert.rejects(unpacked(buffer(packed.subarray(0, packed.length / 2))));
});
