// What startPython needs, taken from folders on disk.
import { readFile } from "node:fs/promises";
import { join, sep } from "node:path";
import { pathToFileURL } from "node:url";
import { unpacked } from "../static/js/worker/packed.mjs";

/** @param {string} pyodideDir @param {string} bundleDir */
export async function nodeParts(pyodideDir, bundleDir) {
  const url = (name) => pathToFileURL(join(pyodideDir, name)).href;
  const { loadPyodide } = await import(url("pyodide.mjs"));
  const lock = JSON.parse(await readFile(join(pyodideDir, "pyodide-lock.json"), "utf8"));
  const bytes = async (name) => exact(await readFile(join(bundleDir, name)));
  return {
    indexURL: pyodideDir + sep,
    loadPyodide,
    compile: async () => WebAssembly.compile(await readFile(join(pyodideDir, "pyodide.asm.wasm"))),
    importFactory: async () => (await import(url("pyodide.asm.mjs"))).default,
    lock: { info: lock.info, packages: {} },
    stdlibURL: join(bundleDir, "stdlib.zip"),
    app: async () => unpacked(await bytes("app.bin")),
    snapshot: async () => unpacked(await bytes("snapshot.bin")),
    step: () => {},
  };
}

/** Node's small buffers share one pool. @param {Buffer} buffer */
const exact = (buffer) => buffer.buffer.slice(buffer.byteOffset, buffer.byteOffset + buffer.byteLength);
