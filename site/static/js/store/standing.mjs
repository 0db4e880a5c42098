import { blockSubject } from "../rules/block.mjs";
import { inOrder, SHOWN_USES } from "../rules/fold.mjs";
import { lotKey } from "../rules/lot_key.mjs";
import { ABOUT_STANDING, asOnRack, changes, drawKey, STANDING_FOLD, standingOf, standsFor, subjectsOf } from "../rules/standing.mjs";
import { closedAfter } from "../rules/upkeep.mjs";
import { Entries } from "./derived.mjs";

/** @import { OnRack } from "../rules/racks.mjs" */
/** @import { Filled } from "../rules/tanks.mjs" */
/** @import { Standing, TarewellEvent } from "../rules/types.mjs" */
/** @import { Writing } from "./database.mjs" */

/* What stands of blocks' bars, walks, tanks, scales and tasks: what is open now, without the years before. */

/** @param {Writing} transaction @param {string[]} subjects @returns {Promise<TarewellEvent[]>} */
async function about(transaction, subjects) {
  const index = transaction.objectStore("events").index("subject");
  const found = [];
  // One after the other: of several at once, the refusal of a later one would leave the earlier ones unheard.
  for (const subject of subjects) found.push(await index.getAll(subject));
  return found.flat();
}

/** @param {Writing} transaction Every subject is passed once, however many events it has. */
async function everyKey(transaction) {
  const index = transaction.objectStore("events").index("subject");
  /** @type {Set<string>} */
  const found = new Set();
  for (const room of ABOUT_STANDING) {
    // ";" is the character after ":".
    for (let cursor = await index.openKeyCursor(IDBKeyRange.bound(`${room}:`, `${room};`, false, true), "nextunique"); cursor; cursor = await cursor.continue()) {
      const key = standsFor(String(cursor.key));
      if (key !== null) found.add(key);
    }
  }
  return [...found];
}

export const STANDING = new Entries({
  store: "standing",
  named: "key",
  fold: STANDING_FOLD,
  keyOf: changes,
  made: async (transaction, key) => standingOf(key, await about(transaction, subjectsOf(key))),
  keys: everyKey,
});

/** Sees to it that all of it is there, and comes back at once where that is so. @param {(share: number) => void} [told] Called with how much of the work is done, where there is some. */
export const makeStanding = (told) => STANDING.make(told);

/** All of an index that begins so: behind every text there is sorts a list. @param {string[]} begins */
const beginning = (...begins) => IDBKeyRange.bound(begins, [...begins, []]);

/** @param {Writing} transaction @param {"on" | "off" | "lost"} where */
const onRack = (transaction, where) => transaction.objectStore("standing").index("rack").getAll(beginning(where));

/** @param {Writing} transaction @param {"rack" | "aside" | "lifted" | "covered" | "shelved"} name @param {IDBKeyRange | null} range @param {number} most @returns {Promise<Standing[]>} The newest first. */
async function newest(transaction, name, range, most) {
  /** @type {Standing[]} */
  const found = [];
  for (let cursor = await transaction.objectStore("standing").index(name).openCursor(range, "prev"); cursor && found.length < most; cursor = await cursor.continue()) {
    found.push(cursor.value);
  }
  return found;
}

/** Of all things whose subject begins so. @param {Writing} transaction @param {string} room */
const allOf = (transaction, room) => transaction.objectStore("standing").getAll(IDBKeyRange.bound(`${room}:`, `${room};`, false, true));

/**
 * What Today asks of it: the bars on the racks that dry for sale, in the order in which they came there; all of the walks of which a stop is
 * open; what tells of switch-ons. null while some is still to be made, as of all readings here.
 *
 * @param {number} [limit] [ms]
 * @returns {Promise<{racks: OnRack[], walks: TarewellEvent[], switches: TarewellEvent[]} | null>}
 */
export const standingToday = (limit) =>
  STANDING.whole(async (transaction) => {
    const racks = (await onRack(transaction, "on")).filter(({ barred }) => !barred).map(asOnRack);
    return { racks, walks: inOrder(await about(transaction, await stopped(transaction))), switches: await switches(transaction) };
  }, limit);

/** The walks of which a stop is open. @param {Writing} transaction */
const stopped = async (transaction) => (await transaction.objectStore("standing").index("stopped").getAllKeys()).map(String);

/** All of the walks of which something was told since then, and of those of which a stop is open, in order. @param {string} since @param {number} [limit] [ms] @returns {Promise<TarewellEvent[] | null>} */
export const walksSince = (since, limit) =>
  STANDING.whole(async (transaction) => {
    const late = await transaction.objectStore("standing").index("walked").getAllKeys(IDBKeyRange.lowerBound(since));
    return inOrder(await about(transaction, [...new Set([...late.map(String), ...(await stopped(transaction))])]));
  }, limit);

/** Who was said to be trained since then, in order. @param {string} since @param {number} [limit] [ms] @returns {Promise<TarewellEvent[] | null>} */
export const answersSince = (since, limit) =>
  STANDING.whole(async (transaction) => {
    const events = transaction.objectStore("events");
    const entries = await transaction.objectStore("standing").index("trained").getAll(IDBKeyRange.lowerBound(since));
    const found = await Promise.all(entries.flatMap(({ answers = [] }) => answers).map(async (id) => events.get(id)));
    return inOrder(found.flatMap((event) => event ?? []));
  }, limit);

/** The checks of all scales on the last days on which each was checked or moved, in order. @param {number} [limit] [ms] */
export const scaleChecksTold = (limit) => STANDING.whole(async (transaction) => inOrder((await allOf(transaction, "scale_check")).flatMap(({ told = [] }) => told)), limit);

/** What was told last of a cover, or of where trays stand. @param {"covered" | "shelved"} what @param {number} [limit] [ms] @returns {Promise<{last: TarewellEvent | undefined} | null>} */
export const lastTold = (what, limit) =>
  STANDING.whole(async (transaction) => {
    const [entry] = await newest(transaction, what, null, 1);
    return { last: entry?.[what] ? await transaction.objectStore("events").get(entry[what][1]) : undefined };
  }, limit);

/** @param {Writing} transaction */
const switches = async (transaction) => inOrder((await allOf(transaction, "contents")).flatMap(({ told = [] }) => told));

/** What tells of switch-ons, in order. @param {number} [limit] [ms] */
export const switchesTold = (limit) => STANDING.whole(switches, limit);

/** What still tells something of the tasks of upkeep, in order. @param {number} [limit] [ms] */
export const upkeepTold = (limit) => STANDING.whole(async (transaction) => inOrder((await allOf(transaction, "upkeep_log")).flatMap(({ told = [] }) => told)), limit);

/**
 * What happened on the racks, in order: to all that lie there and can't be told from those; to so many that came off last; and
 * to all blocks of some batches.
 *
 * @param {{off: number, codes: string[]}} more @param {number} [limit] [ms]
 */
export const racksTold = ({ off, codes }, limit) =>
  STANDING.whole(async (transaction) => {
    const store = transaction.objectStore("standing");
    const open = [...(await onRack(transaction, "on")), ...(await onRack(transaction, "lost"))];
    const last = await newest(transaction, "rack", beginning("off"), off);
    // "0" is the character after "/".
    const named = (await Promise.all(codes.map(async (code) => store.getAll(IDBKeyRange.bound(`block:${code}/`, `block:${code}0`, false, true))))).flat();
    return racked(transaction, [...open, ...last, ...named.filter(({ rack }) => rack)]);
  }, limit);

/** What happened on the racks to these blocks, in order. @param {{code: string, block: number}[]} blocks @param {number} [limit] [ms] */
export const rackedOf = (blocks, limit) =>
  STANDING.whole(async (transaction) => {
    const store = transaction.objectStore("standing");
    const found = await Promise.all(blocks.map(async ({ code, block }) => store.get(blockSubject(code, block))));
    return racked(transaction, found.flatMap((entry) => entry ?? []));
  }, limit);

/** @param {Writing} transaction @param {Standing[]} entries */
async function racked(transaction, entries) {
  const events = transaction.objectStore("events");
  const cutter = await Promise.all(entries.flatMap(({ cutter: ids = [] }) => ids).map(async (id) => events.get(id)));
  const cure = await about(transaction, [...new Set(entries.map(({ key }) => key.replace(/^block:/, "cure:")))]);
  return inOrder([...cutter.flatMap((event) => event ?? []), ...cure]);
}

/**
 * The weighings that `drawnFrom` picks from, with what puts them right: what was drawn of these tanks' lots since they were
 * filled, and of a block whose display was never tared all.
 *
 * @param {Map<string, Filled>} filled @param {number} [limit] [ms] @returns {Promise<TarewellEvent[] | null>} In order.
 */
export const weighingsFor = (filled, limit) =>
  STANDING.whole(async (transaction) => {
    const events = transaction.objectStore("events");
    const since = [...filled.values()].map((tank) => tank.since).sort()[0] ?? "";
    const lots = new Set([...filled.values()].flatMap((tank) => (tank.lots.length > 0 ? tank.lots.map(lotKey) : [""])));
    /** @type {Map<string, Standing>} */
    const blocks = new Map();
    for (const lot of lots) {
      for (const entry of await transaction.objectStore("standing").index("drew").getAll(IDBKeyRange.bound(drawKey(lot, since), drawKey(lot, "~")))) blocks.set(entry.key, entry);
    }
    /** @type {TarewellEvent[]} */
    const found = [];
    for (const { key, drew = [], corrected = [] } of blocks.values()) {
      const drawn = drew.filter((each) => lots.has(each.slice(0, each.indexOf("\n")))).map((each) => each.slice(each.lastIndexOf(" ") + 1));
      const own = await Promise.all([...drawn, ...corrected].map(async (id) => events.get(id)));
      const gross = own.some((event) => event?.mode === "gross");
      found.push(...(gross ? await about(transaction, [key]) : own).flatMap((event) => event ?? []));
    }
    return inOrder(found.filter(({ kind }) => kind === "weighed" || kind === "corrected"));
  }, limit);

/** The blocks of which soap lies set aside, the newest first. @param {number} most @param {number} [limit] [ms] @returns {Promise<{id: string, code: string, block: number}[] | null>} */
export const asideNow = (most, limit) =>
  STANDING.whole(async (transaction) => (await newest(transaction, "aside", null, most)).map(asOnRack).map(({ id, code, block }) => ({ id, code, block })), limit);

/**
 * How long blocks like these stood in their moulds: of each kind the newest.
 *
 * @param {{formula: string, mould: string, cover: string}[]} kinds @param {number} [limit] [ms]
 * @returns {Promise<import("../rules/after_pour.mjs").Lifted[] | null>}
 */
export const liftedLike = (kinds, limit) =>
  STANDING.whole(async (transaction) => {
    const found = [];
    const once = new Map(kinds.map(({ formula, mould, cover }) => [JSON.stringify([formula, mould, cover]), [formula, mould, cover]]));
    for (const kind of once.values()) found.push(await newest(transaction, "lifted", beginning(...kind), SHOWN_USES));
    return found.flat().map(({ lifted: [of_formula = "", in_mould = "", cover = "", at = "", id = ""] = [], seconds = 0 }) => ({ id, at, of_formula, in_mould, cover, seconds }));
  }, limit);

/** How many blocks were closed since then, by the texts that `countedFrom` gives. @param {string[]} since @param {number} [limit] [ms] @returns {Promise<Map<string, number> | null>} */
export const closedSince = (since, limit) =>
  STANDING.whole(async (transaction) => {
    const index = transaction.objectStore("standing").index("closed");
    return new Map(await Promise.all(since.map(async (each) => /** @type {[string, number]} */ ([each, await index.count(IDBKeyRange.lowerBound(closedAfter(each), true))]))));
  }, limit);

/**
 * How dense the set soap of blocks was: the newest of each formula. From formula to formula it is one leap, however many blocks
 * there are between them.
 *
 * @param {number} [limit] [ms]
 * @returns {Promise<{of_formula: string, density_g_per_ml: number}[] | null>}
 */
export const setSoapTold = (limit) =>
  STANDING.whole(async (transaction) => {
    /** @type {Map<string, number[]>} */
    const found = new Map();
    let cursor = await transaction.objectStore("standing").index("soap").openCursor(null, "prev");
    while (cursor) {
      const { soap: [name = ""] = [], density = 0 } = cursor.value;
      const told = found.get(name) ?? [];
      if (told.length < SHOWN_USES) found.set(name, [...told, density]);
      cursor = told.length < SHOWN_USES ? await cursor.continue() : await cursor.continue([name]);
    }
    return [...found].flatMap(([name, told]) => told.map((density) => ({ of_formula: name, density_g_per_ml: density })));
  }, limit);
