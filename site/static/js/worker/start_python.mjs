// Starts Python with the app inside it: from compiled files or from a sparse memory snapshot.
// The same code runs in the browser's worker and in Node at build time, where it proves the snapshot before it ships.
//
// The snapshot rests on insides of Pyodide: API.finalizeBootstrap, createPyodideModule, and the memory of a fresh instance.
// A new Pyodide may change them; the build then stops. Before its pin moves, both ways must be tried in three engines.
import { isPacked } from "./packed.mjs";
import { unpackTar } from "./tar.mjs";
import { readSnapshot, writePages } from "./sparse.mjs";

export const APP_FOLDER = "/app";
// As in the repository: calc/ and shared/ at the top, answers/ inside site/; packages/ are other people's.
// What Python's zlib calls it: the largest window, and 16 for the header of a gzip file.
const GZIP = 15 + 16;
const IMPORTED_FROM = [APP_FOLDER, `${APP_FOLDER}/site`, `${APP_FOLDER}/packages`];

/**
 * @typedef {object} Parts
 * @property {string} indexURL folder of pyodide.mjs, pyodide.asm.mjs and pyodide.asm.wasm, with a slash at the end
 * @property {(options: object) => Promise<any>} loadPyodide
 * @property {() => Promise<WebAssembly.Module>} compile pyodide.asm.wasm, which takes longest and so begins first
 * @property {() => Promise<any>} importFactory gives the default export of pyodide.asm.mjs
 * @property {object} lock stands for pyodide-lock.json: its `info`, no packages
 * @property {string} stdlibURL
 * @property {() => Promise<ArrayBuffer>} app the tar, gzipped where the browser can't unpack it
 * @property {(() => Promise<ArrayBuffer>) | null} snapshot unpacked; null where compiled files are used
 * @property {(name: string) => void} step tells the watchdog that something moved
 */

/**
 * @param {Parts} parts
 * @returns {Promise<{answer: (request: string) => string, pyodide: any}>}
 */
export async function startPython(parts) {
  const wasm = parts.compile();
  let snapshot = parts.snapshot?.();
  const restoring = snapshot !== undefined;
  // A rejection that nobody awaits yet would count as unhandled; both are awaited below.
  for (const each of [wasm, snapshot]) each?.catch(() => {});
  // Where this name is known, Pyodide leaves fetching and instantiating to us.
  Object.assign(globalThis, { WasmOffsetConverter: null });
  const pyodide = await parts.loadPyodide({
    ...options(parts),
    createPyodideModule: async (/** @type {any} */ settings) => {
      const factory = await parts.importFactory();
      parts.step("runtime");
      const failed = new Promise((_, reject) => {
        settings.instantiateWasm = instantiateWith(wasm, reject);
      });
      settings.noInitialRun = restoring;
      const module = await Promise.race([factory(settings), failed]);
      if (!snapshot) return module;
      const bytes = await snapshot;
      // Pyodide keeps this function, and with it all that it sees.
      snapshot = undefined;
      parts.step("instance");
      restore(module, settings.API, bytes);
      return module;
    },
  });
  parts.step("python");
  if (restoring) pyodide.pyimport("random").seed();
  else await installApp(pyodide, await parts.app());
  const door = pyodide.pyimport("answers.door");
  return { pyodide, answer: (request) => door.answer(request) };
}

/** @param {Pick<Parts, "indexURL" | "lock" | "stdlibURL">} parts */
export function options(parts) {
  return {
    indexURL: parts.indexURL,
    lockFileContents: parts.lock,
    // Without it Pyodide would name its own network as the place of packages.
    packageBaseUrl: parts.indexURL,
    stdLibURL: parts.stdlibURL,
    env: { HOME: "/home/pyodide", PYTHONHASHSEED: "0" },
  };
}

/** Puts the app's files in place. Python keeps nothing of them in a snapshot: late imports need them there too.
 * @param {any} pyodide @param {ArrayBuffer} app the tar; Python unpacks it where that was not done */
export async function installApp(pyodide, app) {
  pyodide.FS.mkdirTree(APP_FOLDER);
  unpackTar(pyodide.FS, APP_FOLDER, isPacked(app) ? unzipped(pyodide, app) : new Uint8Array(app));
  const path = pyodide.pyimport("sys").path;
  for (const folder of IMPORTED_FROM) if (!path.includes(folder)) path.append(folder);
  path.destroy();
  const importlib = pyodide.pyimport("importlib");
  importlib.invalidate_caches();
  importlib.destroy();
}

/** @param {any} pyodide @param {ArrayBuffer} packed @returns {Uint8Array} */
function unzipped(pyodide, packed) {
  const zlib = pyodide.pyimport("zlib");
  const given = pyodide.toPy(new Uint8Array(packed));
  const content = zlib.decompress(given, GZIP);
  const bytes = content.toJs();
  for (const each of [content, given, zlib]) each.destroy();
  return bytes;
}

/** What the runtime calls when it wants its instance. @param {Promise<WebAssembly.Module>} wasm @param {(why: unknown) => void} failed */
function instantiateWith(wasm, failed) {
  return (/** @type {any} */ imports, /** @type {(instance: WebAssembly.Instance, module: WebAssembly.Module) => void} */ done) => {
    // The mark of a JavaScript error, in the plain form that Pyodide itself uses where WasmGC is missing.
    const mark = Symbol("error marker");
    imports.env.Jsv_GetError_import = () => mark;
    imports.env.JsvError_Check = (/** @type {unknown} */ value) => value === mark;
    wasm
      .then(async (module) => done(await WebAssembly.instantiate(module, imports), module))
      .catch(failed);
    return {};
  };
}

/** @param {any} module @param {any} api @param {ArrayBuffer} bytes */
function restore(module, api, bytes) {
  const { header, pages } = readSnapshot(bytes);
  if (header.build !== api.config.BUILD_ID) throw new Error("the snapshot was made by another Pyodide");
  if (module.HEAPU8.length < header.heapBytes && !module.growMemory(header.heapBytes))
    throw new Error("not enough memory for the snapshot");
  writePages(module.HEAPU8, header, pages);
  const finalize = api.finalizeBootstrap;
  // loadPyodide passes no state of its own, since it was given no snapshot: ours goes in its place.
  api.finalizeBootstrap = (/** @type {unknown} */ _, /** @type {unknown} */ read) => finalize(header.references, read);
}
