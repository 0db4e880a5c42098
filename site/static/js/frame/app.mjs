import DEMO from "../../../../shared/demo/workshop.json" with { type: "json" };
import { foldWorkshop } from "../rules/fold.mjs";
import { clock, localTime } from "../store/clock.mjs";
import { openAhead, ownHolds } from "../store/database.mjs";
import { beginToCount } from "../store/events.mjs";
import { chooseMode, chosenMode, mode } from "../store/mode.mjs";
import { loadWorkshop } from "../store/workshop.mjs";
import { markMode, markOwn, markUnits } from "./flags.mjs";
import { ask, onPythonState } from "./python.mjs";
import { untilRead } from "./unread.mjs";
import { word } from "./words.mjs";

/** @import { Item, State, Values } from "../rules/types.mjs" */
/** @import { Workshop } from "../store/workshop.mjs" */

/**
 * @typedef {{field: string, code: string, message: string, remedy: string}} Problem
 *
 * @typedef {object} Reply
 * @property {boolean} [ok]
 * @property {Record<string, string>} [html]
 * @property {Problem[]} [problems]
 * @property {Record<string, any> | null} [record]
 * @property {Record<string, string>} [understood]   by control, what a quantity typed in words of its own was taken for
 * @property {Values} [puts]   by control, what follows from what was typed in others
 * @property {string} [fault]
 * @property {string} [report]
 * @property {string} [off]   why there is no calculation
 */

/**
 * The workshop as this page knows it, empty until it has been read. `records` is "none" where the browser keeps no records
 * at all. Only there is what lies beneath shown by itself.
 *
 * @type {Workshop & {records: "unread" | "read" | "none"}}
 */
export const app = { demo: {}, state: {}, heads: new Map(), filled: false, own: false, records: "unread" };

/** @type {(() => Promise<void>)[]} */
const workshopListeners = [];

/** @param {() => Promise<void>} listener Called whenever the workshop has been read, before anybody goes on with it. */
export const onWorkshop = (listener) => void workshopListeners.push(listener);

/** @type {Promise<void> | undefined} */
let reading;
/** @type {Promise<void> | undefined} */
let next;

/**
 * Reads the workshop afresh, and resolves once that has succeeded. A reading asked for meanwhile begins after it.
 *
 * @returns {Promise<void>}
 */
export function reload() {
  if (reading) {
    return (next ??= reading.then(() => {
      next = undefined;
      return reload();
    }));
  }
  return (reading = read().finally(() => (reading = undefined)));
}

async function read() {
  // Once the workshop has been read, nothing takes its place, not even the demo.
  const alone = () => ({ ...app, state: foldWorkshop(app.demo, []), records: /** @type {const} */ ("none") });
  Object.assign(app, await untilRead(readWorkshop, app.records === "read" ? undefined : alone));
  document.documentElement.removeAttribute("data-unread");
  if (app.filled) {
    markOwn();
    void beginToCount().catch(() => {});
  }
  markUnits(app.state.units ?? "metric");
  for (const listener of workshopListeners) await listener();
}

/** @param {number} limit [ms] @returns {Promise<typeof app>} */
async function readWorkshop(limit) {
  try {
    const [workshop] = await Promise.all([loadWorkshop(app.demo, { limit }), asOwn(limit)]);
    return { ...workshop, records: "read" };
  } catch (error) {
    // The demo that is built into the page must not pass for the user's own.
    document.documentElement.toggleAttribute("data-unread", app.records === "unread");
    throw error;
  }
}

/**
 * Opens the page anew as one's own where nobody has chosen and an older build has left records that it did not count.
 *
 * @param {number} limit [ms]
 */
async function asOwn(limit) {
  if (mode === "own" || chosenMode() !== null || !(await ownHolds("events", limit)) || !chooseMode("own")) return;
  location.reload();
  await new Promise(() => {});
}

/** @type {Promise<void> | undefined} */
let started;

/** Loads what the page starts from, once. */
export const start = () => (started ??= begin());

async function begin() {
  markMode();
  openAhead();
  const { units = "metric" } = document.documentElement.dataset;
  app.demo = { ...(mode === "practice" ? DEMO : {}), units };
  await reload();
}

/** @param {string} kind @param {string} id @returns {Item | undefined} */
export const findItem = (kind, id) => (app.state[kind] ?? []).find((/** @type {Item} */ item) => item.id === id);

/** @type {import("./python.mjs").PythonState} */
const python = { state: "starting", detail: "" };

/** @type {Set<() => void>} */
const offListeners = new Set();

/** Why there is no calculation, in words; empty while there is one or one is on its way. */
export const whyOff = () => (python.state === "off" ? word("calculation-off", { reason: word(python.detail, python.named) }) : "");

/** @param {() => void} changed Called when calculation starts or stops. */
export function watchPython(changed) {
  const show = () => {
    for (const place of document.querySelectorAll("[data-python-state]")) {
      place.textContent = whyOff() || word(`python-${python.state}`);
    }
  };
  addEventListener("tarewell-language", show);
  onPythonState((news) => {
    Object.assign(python, news);
    show();
    if (news.state === "off") for (const listener of offListeners) listener();
    changed();
  });
}

/**
 * Asks Python. Never rejects.
 *
 * @param {string} task
 * @param {Values} values
 * @param {{check?: boolean, state?: State, id?: string}} [more] `id`: of the item that is being changed.
 * @returns {Promise<Reply | null>} null where a newer question of the same task has overtaken this one.
 */
export async function question(task, values, { check = false, state = app.state, id = "" } = {}) {
  if (whyOff()) return { off: whyOff() };
  let stopped = () => {};
  const off = new Promise((/** @type {(reply: Reply) => void} */ resolve) => {
    stopped = () => resolve({ off: whyOff() });
    offListeners.add(stopped);
  });
  try {
    const request = { task, values, state, now: localTime(clock.now()), language: document.documentElement.lang, ...(check ? { check } : {}), ...(id ? { id } : {}) };
    const reply = await Promise.race([/** @type {Promise<Reply | null>} */ (ask(request)), off]);
    return reply ?? (whyOff() ? { off: whyOff() } : null);
  } catch (error) {
    if (whyOff()) return { off: whyOff() };
    return { fault: String(error), report: error instanceof Error ? (error.stack ?? "") : "" };
  } finally {
    offListeners.delete(stopped);
  }
}
