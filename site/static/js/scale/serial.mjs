/**
 * A scale at a serial port of this device itself, where the browser knows such ports (Web Serial, WICG). A person picks the port
 * once, at a step on that scale; from then on it's heard on each page at the scale. Elsewhere nothing of it is shown.
 */

import { Judge, readLine, readSma, Splitter } from "../rules/scale_lines.mjs";
import { clock, utc } from "../store/clock.mjs";
import { named } from "../store/mode.mjs";

/** @import { Read, Speaks } from "../rules/scale_lines.mjs" */
/** @import { Reading } from "../rules/heard.mjs" */

/**
 * @typedef {{baudRate: number, dataBits: number, parity: "none" | "even"}} Setting
 * @typedef {{usbVendorId?: number, usbProductId?: number}} Plugged
 * @typedef {object} Port
 * @property {(setting: Setting) => Promise<void>} open
 * @property {() => Promise<void>} close
 * @property {() => Plugged} getInfo
 * @property {ReadableStream<Uint8Array> | null} readable
 * @property {WritableStream<Uint8Array> | null} writable
 * @typedef {EventTarget & {requestPort: () => Promise<Port>, getPorts: () => Promise<Port[]>}} Serial
 *
 * @typedef {{name: string, plugged: Plugged, setting: Setting, speaks: Speaks}} Kept   name: of the workshop's scale
 */

const KEPT = named("serial-scales");

/** SMA SCP-0499: the weight as the display shows it. Nothing else is ever asked: tare and zero stay at the scale. */
const ASK = new TextEncoder().encode("\nW\r");

/** Of each setting it's listened so long, then asked so long; a display that sends does so once a second at least. [ms] */
const LISTENS = 1_200;
const ASKS = 800;
/** A scale that is asked is asked so often, and silence is looked at as often. [ms] */
const TICK = 200;

/** Most displays first; the rest of their menus: common practice, no source. @type {Setting[]} */
const SETTINGS = [9600, 2400, 4800, 19200, 1200, 38400, 57600, 115200].flatMap((baudRate) => [
  { baudRate, dataBits: 8, parity: "none" },
  { baudRate, dataBits: 7, parity: "even" },
]);

/** @returns {Serial | undefined} */
const serial = () => /** @type {any} */ (navigator).serial;

export const hasSerial = () => serial() !== undefined;

/** @returns {Kept[]} */
function kept() {
  try {
    const found = JSON.parse(localStorage.getItem(KEPT) ?? "[]");
    return Array.isArray(found) ? found : [];
  } catch {
    return [];
  }
}

/** In the place of what the scale, or what is plugged in, had before. @param {Kept} scale */
function keep(scale) {
  const others = kept().filter(({ name, plugged }) => name !== scale.name && !isSame(plugged, scale.plugged));
  try {
    localStorage.setItem(KEPT, JSON.stringify([...others, scale]));
  } catch {
    // Then it is picked anew on the next page.
  }
}

/** @param {Plugged} one @param {Plugged} other */
const isSame = (one, other) => one.usbVendorId === other.usbVendorId && one.usbProductId === other.usbProductId;

/**
 * Tells each line that comes, until the signal or the port ends it.
 *
 * @param {Port} port @param {AbortSignal} signal @param {(text: string) => void} told
 */
async function lines(port, signal, told) {
  const splitter = new Splitter();
  // An error of one byte ends the stream and not the port, which then has a new one.
  while (port.readable && !signal.aborted) {
    const reader = port.readable.getReader();
    const cancel = () => void reader.cancel().catch(() => {});
    signal.addEventListener("abort", cancel, { once: true });
    try {
      for (let part = await reader.read(); !part.done; part = await reader.read()) {
        for (const text of splitter.feed(part.value)) told(text);
      }
      if (!signal.aborted) return;
    } catch {
      // As above; a port that was pulled out has none any more.
    } finally {
      signal.removeEventListener("abort", cancel);
      reader.releaseLock();
    }
  }
}

/** @param {Port} port */
async function ask(port) {
  // A line that takes nothing just now has the question before still under way.
  if (!port.writable || port.writable.locked) return;
  const writer = port.writable.getWriter();
  try {
    await writer.write(ASK);
  } catch {
    // Pulled out: the reading side tells it.
  } finally {
    writer.releaseLock();
  }
}

/** How a scale speaks: null where nothing comes that can be read. @param {Port} port @returns {Promise<{setting: Setting, speaks: Speaks} | null>} */
async function findOut(port) {
  for (const setting of SETTINGS) {
    /** @type {Speaks | null} */
    let speaks = null;
    const ends = new AbortController();
    await port.open(setting);
    let asked = Promise.resolve();
    const asking = setTimeout(() => (asked = ask(port)), LISTENS);
    const over = setTimeout(() => ends.abort(), LISTENS + ASKS);
    await lines(port, ends.signal, (text) => {
      speaks ??= readLine(text).status !== "garbage" ? "line" : readSma(text).status !== "garbage" ? "sma" : null;
      if (speaks) ends.abort();
    });
    clearTimeout(asking);
    clearTimeout(over);
    await asked;
    await port.close();
    if (speaks) return { setting, speaks };
  }
  return null;
}

/** Tells what a scale shows until its port goes away. @param {Port} port @param {Kept} scale @param {(reading: Reading) => void} hear */
async function listen(port, { name, setting, speaks }, hear) {
  await port.open(setting);
  const judge = new Judge(clock.now());
  const tell = (/** @type {Read | null} */ read) => read && hear({ ...read, name, at: utc(clock.now()) });
  const ticking = setInterval(() => {
    tell(judge.silent(clock.now()));
    if (speaks === "sma") void ask(port);
  }, TICK);
  await lines(port, new AbortController().signal, (text) => tell(judge.heard(speaks, text, clock.now())));
  clearInterval(ticking);
  await port.close().catch(() => {});
}

/**
 * Lets a person pick the port of a scale, and hears it from then on. Called in a tap: no browser asks otherwise.
 *
 * @param {string} name of the workshop's scale @param {(reading: Reading) => void} hear
 * @param {(state: "listening" | "heard" | "unheard" | "taken") => void} told nothing where the person has picked none
 */
export async function pickPort(name, hear, told) {
  const port = await serial()?.requestPort().catch(() => null);
  if (!port) return;
  told("listening");
  try {
    const found = await findOut(port);
    told(found ? "heard" : "unheard");
    if (!found) return;
    const scale = { name, plugged: port.getInfo(), ...found };
    keep(scale);
    await listen(port, scale, hear);
  } catch {
    // Another tab, or another program, has it.
    told("taken");
  }
}

/** Hears the scales that were picked before, now and whenever one is plugged in again. @param {(reading: Reading) => void} hear */
export async function hearPicked(hear) {
  const ports = serial();
  if (!ports) return;
  const again = async () => {
    const there = await ports.getPorts();
    for (const scale of kept()) {
      const [port, ...alike] = there.filter((each) => isSame(each.getInfo(), scale.plugged));
      // Of two cables of one make nobody can tell which scale it is: a person picks it anew. One that is open already is heard.
      if (port && alike.length === 0) void listen(port, scale, hear).catch(() => {});
    }
  };
  ports.addEventListener("connect", () => void again());
  await again();
}
