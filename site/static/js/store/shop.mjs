import { isUnseen, APART } from "./apart.mjs";
import { clock, utc } from "./clock.mjs";
import { transact } from "./database.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Draft, Writing } from "./database.mjs" */

/**
 * What a phone that is paired with a shop server knows of it: its own secret key, how far it has read, and which records are
 * still to go out. All of it stands among the drafts: no copy and no table takes drafts along, they go with the records, and a
 * store of its own would shut out every older build.
 *
 * @typedef {object} ShopPhone
 * @property {string} seed     the phone's secret key; it never leaves this device
 * @property {string} device   the phone's id, given by the server
 * @property {string} shop     the shop's id
 * @property {string} name     the server's name
 * @property {string} called   what the person calls this phone
 *
 * @typedef {object} ShopCursor
 * @property {string | null} created  which stream of the server it is about, null before the first
 * @property {number} seq             the last message of it that has been read
 * @property {number} unread          how many messages this build could not read
 * @property {number | null} from     the first of those
 * @property {string} build           the build that could not
 *
 * @typedef {{secret: string, seed: string}} Joining
 * @typedef {{phone?: ShopPhone, joining?: Joining, cursor?: ShopCursor, marked?: string}} OfShop
 */

const PHONE = "shop:phone";
const JOINING = "shop:joining";
const CURSOR = "shop:cursor";
/** While it is there, the records from before are still to be marked as to go out, those after the id that it holds. */
const MARKING = "shop:marking";
/** One mark for each record that is to go out. What is recorded from now on goes first: somebody in the shop waits for it. */
const NOW = "shop:out:1:";
const LATER = "shop:out:2:";
// ";" is the character after ":": all keys with the prefix.
const OUT = () => IDBKeyRange.bound("shop:out:", "shop:out;");
const OUT_NOW = () => IDBKeyRange.bound(NOW, "shop:out:1;");

/** How long a step of this may stand still: other tabs may be writing much. [ms] */
const PATIENCE = 60_000;
/** How many records are marked in one transaction. */
const AT_A_TIME = 1000;

/** @type {ShopCursor} */
const NOT_READ = { created: null, seq: 0, unread: 0, from: null, build: "" };

/** @param {string} key @param {OfShop} shop @returns {Draft} */
const entry = (key, shop) => ({ key, values: {}, base: null, at: utc(clock.now()), shop });

/** @param {Writing} transaction */
const drafts = (transaction) => transaction.objectStore("drafts");

/** @template T @param {(transaction: Writing) => Promise<T>} work */
const read = (work) => transact("readonly", work, PATIENCE);
/** @template T @param {(transaction: Writing) => Promise<T>} work */
const write = (work) => transact("readwrite", work, PATIENCE);

/** Which phone this is, null where it isn't paired. @param {Writing} transaction @returns {Promise<ShopPhone | null>} */
export const phoneIn = async (transaction) => (await drafts(transaction).get(PHONE))?.shop?.phone ?? null;

/** @returns {Promise<ShopPhone | null>} */
export const readPhone = () => read(phoneIn);

/** This phone is paired: all that it holds is to go out, and all that is there to come in. @param {ShopPhone} phone */
export const storePhone = (phone) =>
  write(async (transaction) => {
    const store = drafts(transaction);
    await store.put(entry(PHONE, { phone }));
    await store.delete(JOINING);
    await anew(transaction, NOT_READ);
  });

/** This phone leaves the shop; its records stay. */
export const dropPhone = () =>
  write(async (transaction) => {
    for (const key of [PHONE, JOINING, CURSOR, MARKING, OUT()]) await drafts(transaction).delete(key);
  });

/** The key that was made for this secret; null where none was. @param {string} secret @returns {Promise<string | null>} */
export const readJoining = (secret) =>
  read(async (transaction) => {
    const joining = (await drafts(transaction).get(JOINING))?.shop?.joining;
    return joining?.secret === secret ? joining.seed : null;
  });

/** @param {string} secret @param {string} seed */
export const storeJoining = (secret, seed) =>
  write(async (transaction) => void (await drafts(transaction).put(entry(JOINING, { joining: { secret, seed } }))));

export const dropJoining = () => write((transaction) => drafts(transaction).delete(JOINING));

/** @param {Writing} transaction */
const cursorIn = async (transaction) => (await drafts(transaction).get(CURSOR))?.shop?.cursor ?? NOT_READ;

/** How far the server's stream has been read. @returns {Promise<ShopCursor>} */
export const readCursor = () => read(cursorIn);

/** @param {Writing} transaction @param {ShopCursor} cursor */
async function anew(transaction, cursor) {
  await drafts(transaction).put(entry(CURSOR, { cursor }));
  await drafts(transaction).put(entry(MARKING, { marked: "" }));
}

/** The server has another stream than the one that was read, or has lost the end of it: all is read again, and all is to go out. @param {string} created */
export const beginAnew = (created) => write((transaction) => anew(transaction, { ...NOT_READ, created }));

/**
 * Marks every record from before as to go out, some at a time. Until that is done nothing is read or sent: a record that had
 * gone out meanwhile would be marked once more.
 */
export async function markAll() {
  for (let more = true; more; ) {
    more = await write(async (transaction) => {
      const at = (await drafts(transaction).get(MARKING))?.shop?.marked;
      if (at === undefined) return false;
      const keys = await transaction.objectStore("events").getAllKeys(IDBKeyRange.lowerBound(at, true), AT_A_TIME);
      const already = new Set((await drafts(transaction).getAllKeys(OUT_NOW())).map(idOf));
      await mark(transaction, LATER, keys.filter((id) => !already.has(id)));
      const last = keys.at(-1);
      if (last === undefined) await drafts(transaction).delete(MARKING);
      else await drafts(transaction).put(entry(MARKING, { marked: last }));
      return last !== undefined;
    });
  }
}

/** @param {string} key */
const idOf = (key) => key.slice(NOW.length);

/** @param {Writing} transaction @param {string} prefix @param {string[]} ids */
const mark = (transaction, prefix, ids) =>
  Promise.all(ids.map(async (id) => drafts(transaction).put({ key: prefix + id, values: {}, base: id, at: "" })));

/**
 * In the transaction that adds records: they are to go out, if this phone is paired.
 *
 * @param {Writing} transaction @param {string[]} ids @param {{later?: boolean}} [how] `later`: behind what is recorded from now on.
 */
export async function noteOut(transaction, ids, { later = false } = {}) {
  if (ids.length > 0 && (await phoneIn(transaction))) await mark(transaction, later ? LATER : NOW, ids);
}

/**
 * In the transaction that takes in what was read: how far that was, and which of this phone's own records are there.
 *
 * @param {Writing} transaction @param {ShopCursor} cursor @param {string[]} there
 */
export async function noteIn(transaction, cursor, there) {
  await unmark(transaction, there);
  await drafts(transaction).put(entry(CURSOR, { cursor }));
}

/** @param {Writing} transaction @param {string[]} ids */
async function unmark(transaction, ids) {
  if (ids.length === 0 || (await drafts(transaction).getKey(OUT())) === undefined) return;
  await Promise.all(ids.flatMap((id) => [NOW, LATER].map(async (prefix) => drafts(transaction).delete(prefix + id))));
}

/** The server has these. @param {string[]} ids */
export const noteSent = async (ids) => void (ids.length > 0 && (await write((transaction) => unmark(transaction, ids))));

/**
 * The next records that are to go out.
 *
 * @param {number} most
 * @param {ReadonlySet<string>} but These are left out.
 * @param {{now?: boolean}} [which] `now`: only what was recorded since this phone was paired.
 * @returns {Promise<TarewellEvent[]>}
 */
export async function outgoing(most, but, { now = false } = {}) {
  const found = await read(async (transaction) => {
    const keys = await drafts(transaction).getAllKeys(now ? OUT_NOW() : OUT(), most + but.size);
    const ids = keys.map(idOf).filter((id) => !but.has(id)).slice(0, most);
    return Promise.all(ids.map(async (id) => ({ id, event: await transaction.objectStore("events").get(id) })));
  });
  const gone = found.filter(({ event }) => !event).map(({ id }) => id);
  if (gone.length === 0) return found.flatMap(({ event }) => event ?? []);
  // A record that was lost can't go out any more.
  await noteSent(gone);
  return outgoing(most, but, { now });
}

/** What waits to go out, what came in and is set apart, and what this build could not read. @returns {Promise<{waiting: number, apart: number, unread: number}>} */
export const readStanding = () =>
  read(async (transaction) => {
    const [waiting, apart, { unread }] = await Promise.all([
      drafts(transaction).count(OUT()), drafts(transaction).getAll(APART()), cursorIn(transaction),
    ]);
    return { waiting, apart: apart.filter(isUnseen).length, unread };
  });
