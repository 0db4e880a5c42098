// Leaves out of the runtime what only packages with compiled parts would use, of which the app has none: exports that no
// script asks for, and the code that nothing else reaches, by binaryen's wasm-metadce; and their names in the glue.
// Usage: node slim.mjs PYODIDE_DIR NODE_MODULES OUT_DIR   (OUT_DIR gets a whole PYODIDE_DIR)
//
// Rests on insides of Pyodide's glue. kept_exports.txt names what stays: a new Pyodide that wants something else stops the
// build, so that somebody looks; then both ways of starting are proven on the outcome.
import "./say_errors.mjs";
import { execFileSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const WASM = "pyodide.asm.wasm";
const GLUE = "pyodide.asm.mjs";
const AS_THEY_ARE = ["pyodide.mjs", "pyodide-lock.json", "python_stdlib.zip", "package.json"];
// What the runtime is built with: an older browser must find nothing newer in what comes out.
const FEATURES = [
  "--mvp-features",
  ...["bulk-memory", "bulk-memory-opt", "call-indirect-overlong", "exception-handling", "multivalue", "mutable-globals"].map(enable),
  ...["nontrapping-float-to-int", "reference-types", "sign-ext"].map(enable),
];
// The toolchain's own, which its glue reaches by made-up names.
const TOOLCHAIN = /^(__wasm|__emscripten|_?emscripten_|dynCall|__em_js__|__start|__stop|orig\$)/;

const [pyodideDir, nodeModules, outDir] = process.argv.slice(2).map((path) => resolve(path));
const here = dirname(fileURLToPath(import.meta.url));
const read = (name) => readFileSync(join(pyodideDir, name), "utf8");
const glue = parts(read(GLUE));
const module = new WebAssembly.Module(readFileSync(join(pyodideDir, WASM)));
const kept = keptExports();
const wanted = readFileSync(join(here, "kept_exports.txt"), "utf8").split("\n").filter((line) => line && !line.startsWith("#"));
if (kept.join() !== wanted.join()) {
  const [missing, more] = [wanted.filter((name) => !kept.includes(name)), kept.filter((name) => !wanted.includes(name))];
  throw new Error(`this Pyodide needs other exports than kept_exports.txt names: not ${missing.join(" ")}; ${more.join(" ")} too`);
}
mkdirSync(outDir, { recursive: true });
for (const name of AS_THEY_ARE) copyFileSync(join(pyodideDir, name), join(outDir, name));
slimWasm();
writeFileSync(join(outDir, GLUE), slimGlue(new Set(kept)));

function enable(feature) {
  return `--enable-${feature}`;
}

/** The glue, taken apart around the names of all exports: a list of variables, and a function that fills them. */
function parts(text) {
  const assigning = text.indexOf("function assignWasmExports(");
  const open = text.indexOf("{", assigning) + 1;
  const close = text.indexOf("}", open);
  const variables = text.lastIndexOf("var ", assigning);
  if ([assigning, open - 1, close, variables].some((at) => at < 0)) throw new Error("this glue is not made as it was");
  return { before: text.slice(0, variables), names: text.slice(variables + 4, assigning), opening: text.slice(assigning, open), statements: text.slice(open, close), after: text.slice(close) };
}

/** Names that a script holds, that side modules and the toolchain look up, and all that is no function or number. */
function keptExports() {
  const words = new Set(`${glue.before} ${glue.after} ${read("pyodide.mjs")}`.match(/[\w$]+/g));
  const imported = new Set(WebAssembly.Module.imports(module).map(({ name }) => name));
  const stays = ({ name, kind }) =>
    words.has(name) || words.has(`_${name}`) || imported.has(name) || TOOLCHAIN.test(name) || !["function", "global"].includes(kind);
  return WebAssembly.Module.exports(module).filter(stays).map(({ name }) => name).sort();
}

function slimWasm() {
  const graph = join(outDir, "graph.json");
  const nodes = kept.map((name) => ({ name: `export ${name}`, export: name }));
  writeFileSync(graph, JSON.stringify([{ name: "scripts", root: true, reaches: nodes.map(({ name }) => name) }, ...nodes]));
  const tool = join(nodeModules, "binaryen", "bin", "wasm-metadce");
  const options = [join(pyodideDir, WASM), "--graph-file", graph, "-o", join(outDir, WASM), ...FEATURES];
  execFileSync(process.execPath, [tool, ...options], { stdio: ["ignore", "ignore", "inherit"], maxBuffer: 1 << 26 });
  const left = WebAssembly.Module.exports(new WebAssembly.Module(readFileSync(join(outDir, WASM)))).map(({ name }) => name);
  if (left.sort().join() !== kept.join()) throw new Error("wasm-metadce has kept other exports than it was told");
}

/** @param {Set<string>} names */
function slimGlue(names) {
  const statements = glue.statements.split(";").filter((each) => {
    const from = /wasmExports\["([^"]+)"\]/.exec(each);
    return !from || names.has(from[1]);
  });
  const left = glue.before + glue.opening + statements.join(";") + glue.after;
  const words = new Set(left.match(/[\w$]+/g));
  const variables = glue.names.trim().replace(/;$/, "").split(",").filter((each) => words.has(each.split("=")[0]));
  const slim = `${glue.before}var ${variables.join(",")};${glue.opening}${statements.join(";")}${glue.after}`;
  const options = ["--format=esm", "--minify-whitespace", "--minify-syntax", "--log-level=error"];
  return execFileSync(process.execPath, [join(nodeModules, "esbuild", "bin", "esbuild"), ...options], { input: slim, maxBuffer: 1 << 26 });
}
