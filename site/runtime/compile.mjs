// Compiles the standard library and the app with the very Python that will run them.
// Usage: node compile.mjs PYODIDE_DIR APP_DIR OUT_DIR
import "./say_errors.mjs";
import { readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const [pyodideDir, appDir, outDir] = process.argv.slice(2).map((path) => resolve(path));
const { loadPyodide } = await import(pathToFileURL(join(pyodideDir, "pyodide.mjs")).href);
const here = dirname(fileURLToPath(import.meta.url));
// Lines are enough for a report of a fault; columns would make the files a sixth larger.
const pyodide = await loadPyodide({ indexURL: pyodideDir, env: { PYTHONNODEBUGRANGES: "1" } });
const nodefs = pyodide.FS.filesystems.NODEFS;
for (const [inside, root] of [["/from", appDir], ["/to", outDir]]) {
  pyodide.FS.mkdirTree(inside);
  pyodide.FS.mount(nodefs, { root }, inside);
}
pyodide.runPython(readFileSync(join(here, "compile_inside.py"), "utf8"));
const library = pyodide.globals.get("compile_library");
const tree = pyodide.globals.get("compile_tree");
const version = pyodide.runPython("import sys; f'{sys.version_info[0]}{sys.version_info[1]}'");
const modules = library(`/lib/python${version}.zip`, "/to/stdlib.zip", readFileSync(join(here, "left_out.txt"), "utf8"));
const files = tree("/from", "/to/app.bin", "/app");
console.log(JSON.stringify({ modules, files }));
