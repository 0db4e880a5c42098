/** The connection to the shop server: what is asked of it, in the words of the engine that it runs. */

import { canonical } from "../rules/canonical.mjs";
import { isObject } from "../rules/shape.mjs";
import { clock } from "../store/clock.mjs";
import { Sha256 } from "../store/sha256.mjs";
import { Refused } from "./refused.mjs";

/** @import { Msg, NatsConnection } from "@nats-io/nats-core" */
/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { ShopPhone } from "../store/shop.mjs" */

/**
 * What became of a record that was sent: the server has it (`stored`), there is no more room for this phone's (`full`), or it is
 * larger than the server takes (`large`).
 *
 * @typedef {"stored" | "full" | "large"} Sent
 *
 * @typedef {object} Message
 * @property {number} seq
 * @property {unknown} event   as it was read, undefined where it is no JSON
 *
 * @typedef {{messages: Message[], more: boolean}} Part
 *
 * @typedef {object} Link
 * @property {() => Promise<{created: string, last: number}>} info  which stream there is, and its last message
 * @property {(event: TarewellEvent) => Promise<Sent>} send
 * @property {(after: number) => Promise<Part>} read  the next messages, some at a time
 * @property {(subject: "phones" | "deed", body: object | null) => Promise<any>} ask
 * @property {(subject: "new" | "told", heard: () => void) => void} hear
 * @property {(heard: (reading: any) => void) => () => void} scales  gives what ends it
 * @property {Promise<void>} closed
 * @property {() => Promise<void>} close
 *
 * @typedef {"connecting" | "waiting"} Stage
 */

/** This key, or this secret, is not let in. */
export class Denied extends Error {}

const root = new URL("../../../", import.meta.url);
/** Where this page's own server is heard. */
const here = () => new URL("sync", root).href.replace(/^http/, "ws");

/** Only where it is needed: no other page loads it. */
const engine = () => import("../vendor/nats.mjs");

/** How long an answer may take. [ms] */
const PATIENCE = 5_000;
/** How long a part of the stream may take. [ms] */
const READING = 20_000;
/** How long the server may take to have a record on its disk: many are under way at once, and a small computer's card is slow. [ms] */
const STORING = 20_000;
/** How much is read at a time. */
const BATCH = { batch: 400, max_bytes: 1_000_000 };
/** What a message has beside its content: its subject and its headers. [bytes] */
const HEAD = 300;

/** The engine's numbers for "no more room", of the stream or of one sender, and for "larger than the stream takes". */
const FULL = [10023, 10047, 10077, 10139];
const LARGE = 10054;

const inText = new TextDecoder();
const inBytes = new TextEncoder();

/** @param {string} seed */
const keyOf = (seed) => inBytes.encode(seed);

/** A new secret key, made on this phone. @returns {Promise<string>} */
export const newSeed = async () => inText.decode((await engine()).createUser().getSeed());

/** Where they stand in every connection's making. */
const COMMON = {
  // When to try again is this page's own choice.
  reconnect: false,
  timeout: PATIENCE * 2,
  pingInterval: 15_000,
  maxPingOut: 2,
  ignoreClusterUpdates: true,
  noAsyncTraces: true,
};

/** @param {import("@nats-io/nats-core").ConnectionOptions} options @returns {Promise<NatsConnection>} Throws `Denied`. */
async function connected(options) {
  const { wsconnect } = await engine();
  try {
    return await wsconnect({ ...COMMON, ...options });
  } catch (error) {
    const { name, message } = /** @type {Error} */ (error);
    // A server that is slow to look at a key has not refused it.
    if (name === "AuthorizationError" && !/timeout/i.test(message)) throw new Denied(message);
    throw error;
  }
}

/** @param {ShopPhone} phone @param {string} [address] @returns {Promise<Link>} Throws `Denied`. */
export async function connect({ seed, device, shop }, address = here()) {
  const { headers, nkeyAuthenticator } = await engine();
  const connection = await connected({ servers: address, authenticator: nkeyAuthenticator(keyOf(seed)), inboxPrefix: `_INBOX.${device}` });
  const subject = (/** @type {string} */ name) => `tarewell.${shop}.${name}`;
  const most = (connection.info?.max_payload ?? 0) - HEAD;

  const json = async (/** @type {string} */ to, /** @type {object | null} */ body = null) =>
    (await connection.request(subject(to), body ? JSON.stringify(body) : "", { timeout: PATIENCE })).json();

  return {
    async info() {
      const { created, state, error } = /** @type {any} */ (await json("info"));
      if (error || typeof created !== "string" || !Number.isSafeInteger(state?.last_seq)) throw new Error(`no stream: ${error?.description}`);
      return { created, last: state.last_seq };
    },
    async send(event) {
      const bytes = inBytes.encode(canonical(event));
      // Of one that is larger the server would cut the connection.
      if (bytes.length > most) return "large";
      const named = headers();
      named.set("Nats-Msg-Id", `${event.id}.${digest(bytes)}`);
      const answer = /** @type {any} */ ((await connection.request(subject(`events.${device}`), bytes, { timeout: STORING, headers: named })).json());
      return answer.error ? notStored(answer.error) : "stored";
    },
    async read(after) {
      // Other shops' too: where there is a hub, its server copies them under their own subjects.
      const wanted = JSON.stringify({ ...BATCH, seq: after + 1, next_by_subj: "tarewell.*.events.*" });
      /** @type {Message[]} */
      const messages = [];
      const answers = await connection.requestMany(subject("get"), wanted, { strategy: "sentinel", maxWait: READING });
      for await (const message of answers) {
        const code = message.headers?.code ?? 0;
        // 204 ends a part of the stream; 404 says that there is nothing behind it.
        if (code === 204 || code === 404) return { messages, more: code === 204 && Number(message.headers?.get("Nats-Num-Pending")) > 0 };
        if (code >= 400) throw new Error(`${code} ${message.headers?.description}`);
        messages.push({ seq: Number(message.headers?.get("Nats-Sequence")), event: parsed(message) });
      }
      throw new Error("the end of what was asked for did not come");
    },
    ask: (name, body) => json(name === "deed" ? `deed.${device}` : name, body),
    hear(name, heard) {
      connection.subscribe(subject(name), { callback: (error) => void (error ?? heard()) });
    },
    scales(heard) {
      const told = connection.subscribe(subject("scale.*"), { callback: (error, message) => void (error ?? heard(parsed(message))) });
      return () => told.unsubscribe();
    },
    closed: connection.closed().then(() => {}),
    close: () => connection.close(),
  };
}

/**
 * Part of what the server knows a record by that comes twice. By its number alone another phone could send something else
 * under it first, and this one's would pass for sent.
 *
 * @param {Uint8Array} bytes
 */
function digest(bytes) {
  const sum = new Sha256();
  sum.update(bytes);
  return sum.hex().slice(0, 16);
}

/** @param {{err_code?: number, description?: string}} error @returns {Sent} */
function notStored({ err_code = 0, description = "" }) {
  if (err_code === LARGE) return "large";
  if (FULL.includes(err_code) || /maximum (messages|bytes)|insufficient/.test(description)) return "full";
  throw new Error(`not stored: ${err_code} ${description}`);
}

/** @param {Msg} message @returns {unknown} */
function parsed(message) {
  try {
    return message.json();
  } catch {
    return undefined;
  }
}

const SHOP = /^[a-z2-7]{8}$/;
const DEVICE = /^[a-z2-7]{10}$/;

/** The shop server that serves this page; null where none does. @returns {Promise<{shop: string, name: string} | null>} Rejects with `Refused("unreachable")`. */
export async function shopHere() {
  try {
    const answer = await fetch(new URL("shop.json", root), { cache: "no-store" });
    const told = answer.ok ? await answer.json().catch(() => null) : null;
    return isObject(told) && SHOP.test(String(told.shop)) && typeof told.name === "string" ? { shop: String(told.shop), name: told.name } : null;
  } catch {
    throw new Refused("unreachable");
  }
}

/** How long the maker has to confirm a phone, and the pause before the server is looked for again. [ms] */
const TO_CONFIRM = 600_000;
const PAUSE = 2_000;

/**
 * Asks to become one of a shop's phones, and waits for the answer.
 *
 * @param {{shop: string, secret: string, seed: string, called: string}} asking
 * @param {(stage: Stage) => void} told
 * @param {string} [address]
 * @returns {Promise<{device: string, name: string} | {refused: "refused" | "expired" | "taken_name"}>} `name`: the phone's. Rejects with
 *   `Refused("unreachable")`.
 */
export async function askToJoin({ shop, secret, seed, called }, told, address = here()) {
  const { fromSeed, usernamePasswordAuthenticator } = await engine();
  const body = JSON.stringify({ key: fromSeed(keyOf(seed)).getPublicKey(), name: called });
  const end = clock.now() + TO_CONFIRM;
  for (let left = TO_CONFIRM; left > 0; left = end - clock.now()) {
    told("connecting");
    /** @type {NatsConnection | undefined} */
    let connection;
    try {
      connection = await connected({ servers: address, authenticator: usernamePasswordAuthenticator("join", secret), inboxPrefix: "_INBOX.join" });
      told("waiting");
      const answer = await Promise.race([connection.request(`tarewell.${shop}.join`, body, { timeout: left }), connection.closed()]);
      const reply = /** @type {any} */ (answer && "json" in answer ? answer.json() : {});
      if (reply.refused) return { refused: reply.refused };
      if (DEVICE.test(reply.device) && reply.shop === shop) return { device: reply.device, name: String(reply.name ?? "") };
    } catch (error) {
      // The secret is of one use, and is over: before it was used, or by another phone.
      if (error instanceof Denied) return { refused: "expired" };
    } finally {
      await connection?.close().catch(() => {});
    }
    await new Promise((resolve) => setTimeout(resolve, PAUSE));
  }
  throw new Refused("unreachable");
}
