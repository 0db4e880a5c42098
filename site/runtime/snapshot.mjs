// Makes the memory snapshot: Python started, the app imported and warmed, then the memory written down.
// Usage: node snapshot.mjs PYODIDE_DIR BUNDLE_DIR   (BUNDLE_DIR holds stdlib.zip and app.bin; gets snapshot.bin, gzipped)
import "./say_errors.mjs";
import { writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { gzipSync } from "node:zlib";

// Pyodide bakes a garbage-collected trampoline of this very engine into the memory, which other engines can't run,
// unless it believes it stands on an iPhone; it then uses the plain way, which every engine knows. Before any import.
Object.defineProperty(globalThis, "navigator", {
  value: { userAgent: "iPhone", platform: "iPhone", language: "C" },
  configurable: true,
});
const { nodeParts } = await import("./node_parts.mjs");
const { installApp, options } = await import("../static/js/worker/start_python.mjs");
const { writeSnapshot } = await import("../static/js/worker/sparse.mjs");

const [pyodideDir, bundleDir] = process.argv.slice(2).map((path) => resolve(path));
const parts = await nodeParts(pyodideDir, bundleDir);
const fresh = await freshHeap();
const pyodide = await parts.loadPyodide({ ...options(parts), _makeSnapshot: true });
await installApp(pyodide, await parts.app());
pyodide.runPython(`
import gc, importlib
importlib.import_module("answers.door").warm()
gc.collect()
`);
zeroFreeMemory(pyodide._module);
const made = pyodide.makeMemorySnapshot();
// Pyodide's own form: four words, 32 bytes of build id, the references to JavaScript as JSON, then the memory.
const [, start, length] = new Uint32Array(made.buffer, 0, 4);
const references = JSON.parse(new TextDecoder().decode(made.subarray(48, 48 + length)));
const file = writeSnapshot(made.slice(start), fresh, { build: pyodide._api.config.BUILD_ID, references });
const packed = gzipSync(file, { level: 9 });
writeFileSync(join(bundleDir, "snapshot.bin"), packed);
console.log(JSON.stringify({ heapBytes: made.length - start, bytes: file.length, packed: packed.length }));

/** The memory as an instance has it before Python starts in it: what the restoring side begins with. */
async function freshHeap() {
  let heap;
  const factory = await parts.importFactory();
  const createPyodideModule = async (settings) => {
    settings.noInitialRun = true;
    heap = (await factory(settings)).HEAPU8.slice();
    throw new Error("seen");
  };
  await parts.loadPyodide({ ...options(parts), createPyodideModule }).catch(() => {});
  return heap;
}

/** What Python has freed still holds its last content, which would be stored for nothing. Every free block is taken,
 * from large to small, until the memory's end would move; zeroed; and given back. */
function zeroFreeMemory(module) {
  const end = module._sbrk(0);
  const taken = [];
  for (let size = 1 << 22; size >= 32; size >>= 1) {
    let block = module._malloc(size);
    for (; block && block + size <= end; block = module._malloc(size)) {
      module.HEAPU8.fill(0, block, block + size);
      taken.push(block);
    }
    if (block) module._free(block);
  }
  for (const block of taken) module._free(block);
}
