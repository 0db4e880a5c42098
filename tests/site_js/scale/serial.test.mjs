// A scale at this device's own port, played: which port, setting and way of speaking it has, and what is told while it is pulled out.
import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import { until, values } from "../page_for_tests.mjs";

const { hasSerial, hearPicked, pickPort } = await import("../../../site/static/js/scale/serial.mjs");

const SMA = "\n 1N       12.34kg \r";
const bytes = (text) => Uint8Array.from(text, (each) => each.charCodeAt(0));

/** Understands one setting; asked: it answers, else it sends every 20 ms. Of another setting comes garbage. */
class PlayedPort {
  constructor({ sends = "", answers = "", baudRate = 9600, dataBits = 8, id = 1 }) {
    Object.assign(this, { sends, answers, baudRate, dataBits, id, asked: [], opened: [] });
    this.readable = this.writable = null;
  }

  getInfo() {
    return { usbVendorId: 7, usbProductId: this.id };
  }

  async open(setting) {
    if (this.readable) throw new DOMException("open", "InvalidStateError");
    this.opened.push(setting);
    const right = setting.baudRate === this.baudRate && setting.dataBits === this.dataBits;
    const send = (text) => text && this.come?.enqueue(bytes(right ? text : "\xf3\x81\r\n"));
    this.readable = new ReadableStream({ start: (controller) => void (this.come = controller), cancel: () => void (this.come = null) });
    this.writable = new WritableStream({ write: (part) => {
      this.asked.push(new TextDecoder().decode(part));
      send(this.answers);
    } });
    this.sending = setInterval(() => send(this.sends), 20);
  }

  async close() {
    clearInterval(this.sending);
    this.readable = this.writable = this.come = null;
  }

  pull() {
    clearInterval(this.sending);
    const { come } = this;
    this.readable = this.writable = this.come = null;
    come?.error(new DOMException("The device has been lost.", "NetworkError"));
  }
}

class PlayedSerial extends EventTarget {
  ports = [];
  requestPort = async () => this.ports[0] ?? Promise.reject(new DOMException("none", "NotFoundError"));
  getPorts = async () => this.ports;
}

/** @type {PlayedSerial} */
let serial;
let heard, told;
const hear = (reading) => heard.push(reading);
const pick = () => void pickPort("Bench scale", hear, (state) => told.push(state));

beforeEach(() => {
  values.clear();
  [heard, told, serial] = [[], [], new PlayedSerial()];
  Object.defineProperty(globalThis.navigator, "serial", { value: serial, configurable: true });
});

test("a scale that sends is heard by its name, and on the next page without a tap", async (t) => {
  const port = new PlayedPort({ sends: "ST,NT,+   12.34kg\r\n" });
  t.after(() => port.pull());
  serial.ports = [port];
  pick();
  await until(() => heard.length > 0);
  assert.deepEqual(told, ["listening", "heard"]);
  const { at, ...reading } = heard[0];
  assert.deepEqual(reading, { name: "Bench scale", raw: "ST,NT,+   12.34kg", status: "stable", zero: false, net: true, count: "12.34", unit: "kg" });
  assert.ok(!Number.isNaN(Date.parse(at)));
  port.pull();
  // As the page goes.
  await new Promise((resolve) => setTimeout(resolve, 50));
  const before = heard.length;
  // Another scale that was allowed is not taken for it.
  const other = new PlayedPort({ sends: "ST,NT,+   98.76kg\r\n", id: 2 });
  serial.ports = [other, port];
  await hearPicked(hear);
  await until(() => heard.length > before);
  assert.equal(heard.at(-1).count, "12.34");
  assert.deepEqual(other.opened, []);
});

test("one that only answers is asked for its weight and for nothing else", async (t) => {
  const port = new PlayedPort({ answers: SMA });
  t.after(() => port.pull());
  serial.ports = [port];
  pick();
  await until(() => heard.length > 1);
  assert.equal(heard[0].count, "12.34");
  assert.deepEqual(new Set(port.asked), new Set(["\nW\r"]));
});

test("garbage at one speed makes it try the next", async (t) => {
  const port = new PlayedPort({ sends: "ST,NT,+   12.34kg\r\n", dataBits: 7 });
  t.after(() => port.pull());
  serial.ports = [port];
  pick();
  await until(() => heard.length > 0);
  assert.deepEqual(port.opened.at(-1), { baudRate: 9600, dataBits: 7, parity: "even" });
  assert.equal(heard[0].count, "12.34");
});

test("one that is pulled out is told no more and comes back by itself", async (t) => {
  const port = new PlayedPort({ sends: "ST,NT,+   12.34kg\r\n" });
  t.after(() => port.pull());
  serial.ports = [port];
  await hearPicked(hear);
  pick();
  await until(() => heard.length > 0);
  port.pull();
  await new Promise((resolve) => setTimeout(resolve, 50));
  const before = heard.length;
  await new Promise((resolve) => setTimeout(resolve, 100));
  assert.equal(heard.length, before);
  port.sends = "ST,NT,+    0.00kg\r\n";
  serial.dispatchEvent(new Event("connect"));
  await until(() => heard.length > before);
  assert.equal(heard.at(-1).count, "0.00");
});

test("of two cables of one make none is heard by itself: nobody can tell which scale it is", async (t) => {
  const [one, other] = [new PlayedPort({ sends: "ST,NT,+   12.34kg\r\n" }), new PlayedPort({ sends: "ST,NT,+    7.00kg\r\n" })];
  t.after(() => one.pull());
  serial.ports = [one];
  pick();
  await until(() => heard.length > 0);
  serial.ports = [other, one];
  await hearPicked(hear);
  await new Promise((resolve) => setTimeout(resolve, 50));
  assert.deepEqual([other.opened, heard.some(({ count }) => count === "7.00")], [[], false]);
});

test("a port that something else has is said, and one that nobody picked is not", async () => {
  pick();
  await new Promise((resolve) => setTimeout(resolve, 20));
  assert.deepEqual(told, []);
  const port = new PlayedPort({});
  await port.open({ baudRate: 9600, dataBits: 8 });
  serial.ports = [port];
  pick();
  await until(() => told.length > 1);
  assert.deepEqual(told, ["listening", "taken"]);
  port.pull();
});

test("a browser without such ports has none of it", async () => {
  Object.defineProperty(globalThis.navigator, "serial", { value: undefined, configurable: true });
  assert.equal(hasSerial(), false);
  await hearPicked(hear);
  await pickPort("Bench scale", hear, (state) => told.push(state));
  assert.deepEqual([heard, told], [[], []]);
});
