// Python, seen from a page: ask(request) and onPythonState(callback). Started from the head, before the page is read.
//
// sessionStorage "tarewell-runtime" names the way of starting in this tab: "snapshot" (when absent), "fallback", or
// anything else ("broken"), which fails. The watchdog writes "fallback" there when the snapshot did not work.
import "../store/seen.mjs";
import { scriptURL } from "./trusted.mjs";

/** @typedef {{task: string, values: Record<string, string>, state: unknown, now: string}} Request */
/**
 * detail: where Python is off, the key of the words that say why, with what they name; or what the browser itself said.
 *
 * @typedef {{state: "starting" | "ready" | "off", detail: string, named?: Record<string, number>}} PythonState
 */

const WAY = "tarewell-runtime";
// A first visit downloads everything; later ones read from this device.
const SILENCE_MS = navigator.serviceWorker?.controller ? 20_000 : 60_000;
// A page that asks nothing is settled this long after Python is ready.
const QUIET_MS = 2_000;

/** @type {Set<(state: PythonState) => void>} */
const listeners = new Set();
/** @type {PythonState} */
let told = { state: "starting", detail: "" };
/** @type {Map<number, {task: string, text: string, resolve: (reply: any) => void}>} */
const open = new Map();
let lastId = 0;
/** @type {{post(message: object): void, stop(): void} | null} */
let worker = null;
let currentWay = "";
/** @type {ReturnType<typeof setTimeout> | undefined} */
let watchdog;

/** @type {() => void} */
let settle = () => {};
/** Resolves when the first answer has come, or Python is off: the time for everything that may wait. */
export const settled = new Promise((resolve) => (settle = () => resolve(undefined)));

/**
 * Puts a question to Python. Its promise resolves to null once a newer question of the same task is put, or where Python
 * is off.
 *
 * @param {Request} request
 * @returns {Promise<any>}
 */
export function ask(request) {
  return new Promise((resolve) => {
    for (const [id, older] of open) {
      if (older.task !== request.task) continue;
      open.delete(id);
      older.resolve(null);
    }
    if (told.state === "off") return resolve(null);
    lastId += 1;
    const question = { task: request.task, text: JSON.stringify(request), resolve };
    open.set(lastId, question);
    worker?.post({ id: lastId, request: question.text });
    listen();
  });
}

/** Lets the browser store Python's compiled code: see the worker. */
export function exercise() {
  worker?.post({ exercise: true });
}

/** @param {(state: PythonState) => void} callback called at once, and at every change */
export function onPythonState(callback) {
  listeners.add(callback);
  callback(told);
}

/** @param {PythonState} news */
function tell(news) {
  told = news;
  for (const callback of listeners) callback(news);
}

/** @param {string} way */
function start(way) {
  currentWay = way;
  worker = connect(way, receive, (detail) => failed(detail));
  listen();
  for (const [id, { text }] of open) worker.post({ id, request: text });

  /** @param {any} data */
  function receive(data) {
    if (data.reply !== undefined) {
      const question = open.get(data.id);
      open.delete(data.id);
      if (open.size === 0) clearTimeout(watchdog);
      question?.resolve(JSON.parse(data.reply));
      if (question) settle();
    } else if (data.state === "ready") {
      clearTimeout(watchdog);
      performance.mark("tarewell-python-ready", { detail: data.way });
      tell({ state: "ready", detail: data.way });
      setTimeout(settle, QUIET_MS);
    } else if (data.state === "failed") {
      failed(data.detail);
    } else {
      listen();
    }
  }
}

/** Silence counts as failure: an engine that refuses the runtime may never say so. */
function listen() {
  clearTimeout(watchdog);
  watchdog = setTimeout(() => failed("off-silent", { n: SILENCE_MS / 1000 }), SILENCE_MS);
}

/** @param {string} detail @param {Record<string, number>} [named] */
function failed(detail, named = {}) {
  const way = currentWay;
  clearTimeout(watchdog);
  worker?.stop();
  worker = null;
  console.info(`Python (${way}): ${detail}`);
  if (way === "snapshot") {
    remember("fallback");
    tell({ state: "starting", detail });
    start("fallback");
    return;
  }
  for (const { resolve } of open.values()) resolve(null);
  open.clear();
  tell({ state: "off", detail, named });
  settle();
}

/**
 * One worker for all pages, where the browser has shared ones.
 *
 * @param {string} way
 * @param {(data: any) => void} receive
 * @param {(detail: string) => void} broke
 */
function connect(way, receive, broke) {
  const place = (/** @type {string} */ name) =>
    scriptURL(new URL(`../worker/${name}.mjs`, import.meta.url));
  // The way goes by the worker's name: a query would be lost when the service worker gives the script.
  // extendedLifetime: the worker outlives the page it was started from, long enough for the next page to find it.
  const options = /** @type {const} */ ({ type: "module", name: way, extendedLifetime: true });
  let listening = true;
  const hear = (/** @type {MessageEvent} */ { data }) => listening && receive(data);
  const fail = (/** @type {ErrorEvent} */ event) => listening && broke(event.message || "off-unstarted");
  if (typeof SharedWorker === "function") {
    const early = begun(way);
    const shared = early?.shared ?? new SharedWorker(place("shared"), options);
    if (early?.error) setTimeout(fail, 0, early.error);
    shared.onerror = fail;
    shared.port.onmessage = hear;
    const stop = () => {
      listening = false;
      shared.port.postMessage({ stop: true });
    };
    return { post: (/** @type {object} */ message) => shared.port.postMessage(message), stop };
  }
  const own = new Worker(place("dedicated"), options);
  own.onerror = fail;
  own.onmessage = hear;
  return {
    post: (/** @type {object} */ message) => own.postMessage(message),
    stop: () => {
      listening = false;
      own.terminate();
    },
  };
}

/** The worker that early.js has asked for, once; from then on it asks for none. @param {string} way @returns {{shared: SharedWorker, error: ErrorEvent | null} | null} */
function begun(way) {
  /** @type {any} */
  const page = globalThis;
  const early = page.tarewellEarly;
  page.tarewellEarly = null;
  return early?.way === way ? early : null;
}

/** @param {string} way */
function remember(way) {
  try {
    sessionStorage.setItem(WAY, way);
  } catch {
    // Then the next page finds out for itself.
  }
}

function chosen() {
  try {
    return sessionStorage.getItem(WAY) ?? "snapshot";
  } catch {
    return "snapshot";
  }
}

try {
  // The worker would break before it could say so.
  if (typeof WebAssembly === "undefined") failed("off-no-wasm");
  else start(chosen());
} catch (error) {
  failed(String(error));
}
