import assert from "node:assert/strict";
import { test } from "node:test";
import { NotWritten, writeGeneration } from "../../../site/static/js/records/generations.mjs";

/** A folder in memory that keeps to the File System standard: a file appears empty, and whole once its stream is closed. */
class Folder {
  files = new Map();
  /** Thrown by a stream at its end, or "short": the disk drops the last byte and says nothing. */
  fault = null;

  async *entries() {
    for (const name of [...this.files.keys()]) yield [name, await this.getFileHandle(name)];
  }

  async getFileHandle(name, { create = false } = {}) {
    if (!this.files.has(name)) {
      assert.ok(create, name);
      this.files.set(name, new Blob([]));
    }
    return {
      kind: "file",
      getFile: async () => this.files.get(name),
      createWritable: async () => {
        let held = new Blob([]);
        return {
          write: async (blob) => (held = blob),
          close: async () => {
            if (this.fault instanceof Error) throw this.fault;
            this.files.set(name, this.fault === "short" ? held.slice(0, -1) : held);
          },
          abort: async () => {},
        };
      },
    };
  }

  async removeEntry(name) {
    this.files.delete(name);
  }
}

const at = (n) => ({ format: "tarewell-records", mark: "abcd", local: `2026-12-${String(n).padStart(2, "0")}T08:00:00+00:00` });
const copy = (records) => ({ blob: new Blob([`copy of ${records}`.padEnd(40 + records, ".")]), records });
const write = (folder, day, records, more = {}) => writeGeneration(folder, { ...at(day), ...more }, copy(records));
const names = ({ files }) => [...files.keys()].sort();

test("each copy is a file of its own; the newest three stay", async () => {
  const folder = new Folder();
  for (const day of [1, 2, 3, 4, 5]) assert.deepEqual(await write(folder, day, 10 * day), { outcome: "written" });
  assert.deepEqual(names(folder), [3, 4, 5].map((day) => `tarewell-records-2026-12-0${day}-080000-abcd-${day}0.json`));
  assert.equal(await folder.files.get(names(folder)[2]).text(), await copy(50).blob.text());
});

test("nothing is written where nothing is new", async () => {
  const folder = new Folder();
  await write(folder, 1, 10);
  assert.deepEqual(await write(folder, 2, 10), { outcome: "same" });
  assert.equal(names(folder).length, 1);
});

test("a copy of fewer records than the last is not written, whatever the clock says", async () => {
  const folder = new Folder();
  await write(folder, 9, 10);
  for (const [day, records] of [[10, 9], [1, 0], [10, 1]]) {
    assert.deepEqual(await write(folder, day, records), { outcome: "fewer", had: 10 });
  }
  assert.equal(names(folder).length, 1);
  // A clock set back by a week: the copy with more records is the newer one.
  assert.deepEqual(await write(folder, 2, 11), { outcome: "written" });
  for (const records of [12, 13]) await write(folder, 2, records, { local: `2026-12-02T09:00:${records}+00:00` });
  assert.deepEqual(names(folder).map((name) => Number(/-(\d+)\.json$/.exec(name)[1])), [11, 12, 13]);
});

test("what others put there stays, and counts for nothing", async () => {
  const folder = new Folder();
  const others = ["letter.txt", "tarewell-records-2026-12-01-080000-zzzz-900.json", "tarewell-practice-records-2026-12-01-080000-abcd-900.json", "tarewell-records-2026-12-01.json"];
  for (const name of others) folder.files.set(name, new Blob(["x"]));
  for (const day of [1, 2, 3, 4, 5]) assert.equal((await write(folder, day, day)).outcome, "written");
  for (const name of others) assert.ok(folder.files.has(name), name);
  assert.equal(names(folder).length, others.length + 3);
});

test("a disk that fails, is full, or drops a byte in silence: an error, and the copies before are all there", async () => {
  const folder = new Folder();
  for (const day of [1, 2, 3]) await write(folder, day, day);
  const before = names(folder);
  for (const fault of [new DOMException("full", "QuotaExceededError"), new Error("unplugged"), "short"]) {
    folder.fault = fault;
    await assert.rejects(write(folder, 4, 4), fault === "short" ? NotWritten : fault);
    assert.deepEqual(names(folder), before);
  }
  folder.fault = null;
  assert.deepEqual(await write(folder, 4, 4), { outcome: "written" });
});

test("a file that was never finished is no copy, and goes with the next one", async () => {
  const folder = new Folder();
  await write(folder, 1, 5);
  folder.files.set("tarewell-records-2026-12-02-080000-abcd-900.json", new Blob([]));
  assert.deepEqual(await write(folder, 3, 6), { outcome: "written" });
  assert.deepEqual(names(folder), ["01-080000-abcd-5", "03-080000-abcd-6"].map((end) => `tarewell-records-2026-12-${end}.json`));
});
