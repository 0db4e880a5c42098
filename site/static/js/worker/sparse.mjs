// The snapshot's form: only those pages of Python's memory that a fresh instance does not hold already.
// 4 bytes length of a JSON header, the header, zeros up to a whole page, then the stored pages, run after run.

export const PAGE = 4096;

/** Runs of pages: [first page, count]. `same` pages are as in a fresh instance; all that is in no other run is zero, and
 * `cleared` of it is not so in a fresh instance.
 * @typedef {[number, number][]} Runs
 * @typedef {{build: string, references: object}} Head
 * @typedef {Head & {heapBytes: number, stored: Runs, same: Runs, cleared: Runs, check: number}} Header */

/** @param {Uint8Array} heap @param {Uint8Array} fresh @param {Head} head @returns {Uint8Array} */
export function writeSnapshot(heap, fresh, head) {
  /** @type {Runs} */
  const stored = [];
  /** @type {Runs} */
  const same = [];
  /** @type {Runs} */
  const cleared = [];
  const [now, before] = [heap, fresh].map((bytes) => new BigUint64Array(bytes.buffer, bytes.byteOffset, bytes.length / 8));
  for (let page = 0; page < heap.length / PAGE; page++) {
    const longs = wholePage(now, page);
    const old = wholePage(before, page);
    if (longs.every((long) => long === 0n)) {
      if (!old.every((long) => long === 0n)) append(cleared, page);
      continue;
    }
    append(old.length && longs.every((long, at) => long === old[at]) ? same : stored, page);
  }
  const check = sample(heap, same);
  const header = new TextEncoder().encode(JSON.stringify({ ...head, heapBytes: heap.length, stored, same, cleared, check }));
  const start = Math.ceil((4 + header.length) / PAGE) * PAGE;
  const file = new Uint8Array(start + length(stored));
  new DataView(file.buffer).setUint32(0, header.length, true);
  file.set(header, 4);
  let at = start;
  for (const [page, count] of stored) {
    file.set(heap.subarray(page * PAGE, (page + count) * PAGE), at);
    at += count * PAGE;
  }
  return file;
}

/** @param {BigUint64Array | undefined} longs @param {number} page */
const wholePage = (longs, page) => /** @type {BigUint64Array} */ (longs).subarray((page * PAGE) / 8, ((page + 1) * PAGE) / 8);

/** @param {Runs} runs @param {number} page */
function append(runs, page) {
  const last = runs.at(-1);
  if (last && last[0] + last[1] === page) last[1] += 1;
  else runs.push([page, 1]);
}

/** @param {Runs} runs @returns {number} of all their pages together [bytes] */
const length = (runs) => PAGE * runs.reduce((sum, run) => sum + run[1], 0);

/** @param {ArrayBuffer} buffer @returns {{header: Header, pages: Uint8Array}} */
export function readSnapshot(buffer) {
  const headed = new DataView(buffer).getUint32(0, true);
  /** @type {Header} */
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, headed)));
  const pages = new Uint8Array(buffer, Math.ceil((4 + headed) / PAGE) * PAGE);
  // Half a memory does not fail at once: Python may run in circles in it.
  const whole = length(header.stored);
  if (pages.length !== whole) throw new Error(`the snapshot has ${pages.length} bytes of ${whole}`);
  return { header, pages };
}

/** Turns a fresh instance's memory into the snapshot's. @param {Uint8Array} heap @param {Header} header @param {Uint8Array} pages */
export function writePages(heap, header, pages) {
  if (sample(heap, header.same) !== header.check) throw new Error("a fresh instance looks different in this browser");
  let end = 0;
  let from = 0;
  const all = [...header.stored.map((run) => ({ run, held: true })), ...header.same.map((run) => ({ run, held: false }))];
  all.sort((one, other) => one.run[0] - other.run[0]);
  for (const { run, held } of all) {
    const start = run[0] * PAGE;
    clear(heap, end, start);
    end = start + run[1] * PAGE;
    if (held) {
      heap.set(pages.subarray(from, from + end - start), start);
      from += end - start;
    }
  }
  clear(heap, end, heap.length);
  for (const [page, count] of header.cleared) heap.fill(0, page * PAGE, (page + count) * PAGE);
}

/** Zeros for what is zero in the snapshot. A page that is so already is not written: the system gives memory to a page only
 * when something is written there, and these are a third of all. What another engine's instance holds more than that of
 * the build shows in a few words of its page. @param {Uint8Array} heap @param {number} from @param {number} to */
function clear(heap, from, to) {
  const words = new Uint32Array(heap.buffer, heap.byteOffset, heap.length / 4);
  for (let start = from; start < to; start += PAGE) {
    let at = start / 4;
    const end = (start + PAGE) / 4;
    while (at < end && words[at] === 0) at += 16;
    if (at < end) heap.fill(0, start, start + PAGE);
  }
}

/** A sum over every 64th word: enough to tell a fresh instance of another make. @param {Uint8Array} heap @param {Runs} runs */
function sample(heap, runs) {
  const words = new Uint32Array(heap.buffer, heap.byteOffset, heap.length / 4);
  let sum = 0;
  for (const [page, count] of runs)
    for (let at = (page * PAGE) / 4; at < ((page + count) * PAGE) / 4; at += 64) sum = (sum * 31 + (words[at] ?? 0)) | 0;
  return sum;
}
