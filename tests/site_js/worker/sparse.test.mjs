import assert from "node:assert/strict";
import { test } from "node:test";

import { PAGE, readSnapshot, writePages, writeSnapshot } from "../../../site/static/js/worker/sparse.mjs";

const HEAD = { build: "b", references: {} };

/** @param {number[]} fills one byte a page */
const heap = (fills) => {
  const bytes = new Uint8Array(fills.length * PAGE);
  fills.forEach((fill, page) => bytes.fill(fill, page * PAGE, (page + 1) * PAGE));
  return bytes;
};

const copy = (/** @type {Uint8Array} */ bytes) => /** @type {ArrayBuffer} */ (bytes.slice().buffer);

test("a fresh instance becomes the one the snapshot was made from", () => {
  const then = heap([1, 1, 5, 0, 7, 7, 0]);
  const fresh = heap([1, 1, 1, 9, 0, 7, 9]);
  const { header, pages } = readSnapshot(copy(writeSnapshot(then, fresh, HEAD)));
  assert.equal(pages.length, 2 * PAGE, "only the pages that differ are stored");
  writePages(fresh, header, pages);
  assert.deepEqual(fresh, then);
});

test("only what is not zero already is zeroed, down to a single byte that the build's own instance held", () => {
  const then = heap([1, 0, 0, 0, 0]);
  const fresh = heap([1, 0, 0, 0, 9]);
  fresh[3 * PAGE - 1] = 7;
  const { header, pages } = readSnapshot(copy(writeSnapshot(then, fresh, HEAD)));
  assert.deepEqual(header.cleared, [[2, 1], [4, 1]]);
  /** @type {number[]} */
  const written = [];
  const watched = fresh.slice();
  const fill = watched.fill.bind(watched);
  watched.fill = (value, from, to) => {
    for (let page = (from ?? 0) / PAGE; page < (to ?? watched.length) / PAGE; page++) written.push(page);
    return fill(value, from, to);
  };
  writePages(watched, header, pages);
  assert.deepEqual(Array.from(watched), Array.from(then));
  assert.deepEqual([...new Set(written)].sort(), [2, 4]);
});

test("what another engine's instance holds beside it is zeroed too", () => {
  const { header, pages } = readSnapshot(copy(writeSnapshot(heap([1, 0, 0]), heap([1, 0, 0]), HEAD)));
  const other = heap([1, 5, 0]);
  writePages(other, header, pages);
  assert.deepEqual(other, heap([1, 0, 0]));
});

test("a snapshot that is too short or too long is refused before anything runs in it", () => {
  const file = writeSnapshot(heap([1, 2, 3, 4]), heap([1, 0, 0, 0]), HEAD);
  for (const size of [file.length - 1, file.length - PAGE, PAGE]) {
    assert.throws(() => readSnapshot(copy(file.subarray(0, size))), /bytes of 12288/);
  }
  const longer = new Uint8Array(file.length + 1);
  longer.set(file);
  assert.throws(() => readSnapshot(copy(longer)), /12289 bytes of 12288/);
});

test("an instance of another make is refused", () => {
  const { header, pages } = readSnapshot(copy(writeSnapshot(heap([1, 2]), heap([1, 0]), HEAD)));
  assert.throws(() => writePages(heap([3, 0]), header, pages), /looks different/);
});
