// The worker's one core, for the shared and the dedicated kind: starts Python at once, then answers on every port.
//
// From a page: {id, request}. To a page: {state: "starting", step} | {state: "ready", way} | {state: "failed", detail}
// and {id, reply}; request and reply are JSON strings of the one door.
import { files } from "./files.mjs";
import { canUnpack, unpacked } from "./packed.mjs";
import { startPython } from "./start_python.mjs";

/** @typedef {{postMessage(message: object): void}} Port */

const SITE = new URL("../../../", import.meta.url);
/** The page names the way to start: "snapshot" or "fallback"; any other fails at once, which the tests use. */
const way = self.name;

/** @type {Port[]} */
const ports = [];
/** @type {{state: string, step?: string, way?: string, detail?: string}} */
let told = { state: "starting", step: "worker" };
/** @type {((request: string) => string) | null} */
let answer = null;
/** @type {{port: Port, id: number, request: string}[]} */
let waiting = [];
let lastRequest = "";
const EXERCISE_MS = 3_000;

/** @param {Port} port */
export function attach(port) {
  ports.push(port);
  port.postMessage(told);
  endWhenFailed();
}

/** @param {Port} port @param {{id: number, request: string} | {exercise: true}} message */
export function receive(port, message) {
  if ("exercise" in message) return exercise(performance.now() + EXERCISE_MS);
  const { id, request } = message;
  lastRequest = request;
  if (answer) reply(port, id, request);
  else waiting.push({ port, id, request });
}

/** Answers the last question over and over, in slices that let real ones through: a browser stores its compiled code only
 * when enough of it has run hot, and a start from the snapshot runs too little. @param {number} until */
function exercise(until) {
  if (!answer || !lastRequest || performance.now() > until) return;
  answer(lastRequest);
  setTimeout(() => exercise(until));
}

/** @param {Port} port @param {number} id @param {string} request */
function reply(port, id, request) {
  try {
    port.postMessage({ id, reply: answer?.(request) });
  } catch (error) {
    // The door itself never raises: this is Python's machine breaking (memory, a fatal error). The page starts anew.
    tell({ state: "failed", detail: String(error) });
  }
}

/** @param {typeof told} news */
function tell(news) {
  told = news;
  for (const port of ports) port.postMessage(news);
  endWhenFailed();
}

/** A shared worker lives on from page to page: one that failed would greet every later page with its failure. */
function endWhenFailed() {
  if (told.state === "failed" && ports.length > 0) setTimeout(() => self.close());
}

/** @param {string} step */
const step = (step) => tell({ state: "starting", step });

/** Reads a file of the runtime. Its name holds its digest, so whatever cache has it has the right one; asking the cache
 * here saves the way through the service worker. @param {string} name */
async function load(name) {
  const url = new URL(name, SITE).href;
  const response = (await globalThis.caches?.match(url, { ignoreVary: true })) ?? (await fetch(url));
  if (!response.ok) throw new Error(`${name}: ${response.status}`);
  step(name);
  return response;
}

/** @param {string} name */
const bytes = async (name) => (await load(name)).arrayBuffer();

const appFiles = async () => (canUnpack ? unpacked(await bytes(files.app)) : bytes(files.app));

/** The module from its response; from its bytes where a host gives it a type that browsers do not take.
 * @param {string} url */
async function compiled(url) {
  try {
    return await WebAssembly.compileStreaming(fetch(url));
  } catch {
    return WebAssembly.compile(await (await fetch(url)).arrayBuffer());
  }
}

async function start() {
  if (way !== "snapshot" && way !== "fallback") throw new Error(`there is no way of starting called ${way}`);
  const pyodideFolder = new URL(files.pyodide, SITE).href;
  // Not a static import: when one can't be loaded, Chromium loses the error of a shared worker once in fifty times.
  const loading = import(`${pyodideFolder}pyodide.mjs`);
  loading.catch(() => {});
  const app = way === "fallback" ? appFiles() : null;
  app?.catch(() => {});
  const python = await startPython({
    indexURL: pyodideFolder,
    loadPyodide: async (options) => (await loading).loadPyodide(options),
    // The response as it comes: browsers keep compiled code with it.
    compile: () => compiled(`${pyodideFolder}pyodide.asm.wasm`),
    importFactory: async () => (await import(`${pyodideFolder}pyodide.asm.mjs`)).default,
    lock: files.lock,
    stdlibURL: new URL(files.stdlib, SITE).href,
    app: () => app ?? appFiles(),
    snapshot: way === "snapshot" ? async () => unpacked(await bytes(files.snapshot)) : null,
    step,
  });
  answer = python.answer;
  tell({ state: "ready", way });
  for (const { port, id, request } of waiting) reply(port, id, request);
  waiting = [];
}

start().catch((error) => tell({ state: "failed", detail: String(error?.message ?? error) }));
