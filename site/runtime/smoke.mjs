// Starts the finished bundle in one of its two ways and asks it something: a bundle that can't answer never ships.
// Usage: node smoke.mjs PYODIDE_DIR BUNDLE_DIR snapshot|fallback REQUESTS.json   Prints the replies as a JSON list.
import "./say_errors.mjs";
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { nodeParts } from "./node_parts.mjs";
import { startPython } from "../static/js/worker/start_python.mjs";

const [pyodideDir, bundleDir, way, requests] = process.argv.slice(2);
const parts = await nodeParts(resolve(pyodideDir), resolve(bundleDir));
if (way !== "snapshot") parts.snapshot = null;
const python = await startPython(parts);
// What a late import, a grown heap and a fresh random state would break if the snapshot were wrong.
python.pyodide.runPython(`
import _strptime, csv, decimal, os, random, traceback
block = bytearray(40_000_000)
del block
assert decimal.Decimal("1.1") + 1 == decimal.Decimal("2.1") and random.random() != random.random() and os.urandom(16) != os.urandom(16)
try:
    raise ValueError("x")
except ValueError as error:
    assert "ValueError" in "".join(traceback.format_exception(error))
# A template that fails must say why: what Jinja imports only then has to be there too.
from answers.rendering import render
try:
    render("batch_sheet.html")
except Exception as error:
    assert "is undefined" in str(error), error
else:
    raise AssertionError("a template without what it shows made an answer")
`);
console.log(JSON.stringify(JSON.parse(readFileSync(requests, "utf8")).map((each) => python.answer(JSON.stringify(each)))));
