import { openDB } from "../vendor/idb.mjs";
import { named, NAMES } from "./mode.mjs";

/** @import { DBSchema, IDBPDatabase, IDBPObjectStore, IDBPTransaction } from "idb" */
/** @import { BatchEntry, BlockEntry, LogEntry, Standing, TarewellEvent, Values } from "../rules/types.mjs" */

/**
 * @typedef {object} Draft
 * @property {string} key
 * @property {Values} values
 * @property {string | null} base  the event that the text was begun on
 * @property {string} at
 * @property {Folder} [folder]  of the entry that stands for the folder of copies alone
 * @property {TarewellEvent} [apart]  of an entry that keeps a record which came under a taken number
 * @property {import("./shop.mjs").OfShop} [shop]  of the entries that tell how this phone stands with a shop server
 *
 * @typedef {{directory: FileSystemDirectoryHandle, mark: string}} Folder  `mark`: in the names of the copies that this device wrote there.
 *
 * @typedef {object} DerivedNote  Whether every entry is there; its key is the empty one, and it comes in no index.
 * @property {number} fold        which fold made them; 0 while some are to be made
 * @property {string} of          another one each time that some are
 * @property {number} [rest]      which fold made all but those that say themselves that they are to be made
 *
 * @typedef {{fold: number, [field: string]: any}} Derived
 * @typedef {object} DerivedStore  Such a store, whichever it is.
 * @property {(key: string) => Promise<any>} get
 * @property {(range: IDBKeyRange) => Promise<Derived[]>} getAll
 * @property {(entry: object) => Promise<unknown>} put
 * @property {(key: string) => Promise<void>} delete
 *
 * @typedef {object} Stores
 * @property {{key: string, value: TarewellEvent, indexes: {kind: string, subject: string}}} events
 * @property {{key: string, value: BatchEntry, indexes: {code: string, at: string, formula: string, takes: string, replaces: string}}} batches
 * @property {{key: string, value: BlockEntry}} blocks
 * @property {{key: string, value: Draft}} drafts
 * @property {{key: string, value: LogEntry, indexes: {at: string}}} log
 * @property {{key: string, value: Standing, indexes: {rack: string[], aside: string[], closed: string, lifted: string[], soap: string[], covered: string[], shelved: string[], trained: string, walked: string, stopped: string, drew: string}}} standing
 * @typedef {Stores & DBSchema} Schema
 * @typedef {("events" | "batches" | "blocks" | "drafts" | "log" | "standing")[]} StoreNames
 * @typedef {IDBPDatabase<Schema>} Database
 * @typedef {IDBPTransaction<Schema, StoreNames, "readwrite">} Writing
 * @typedef {"store-full" | "store-blocked" | "store-failed" | "store-slow" | "store-clock" | "store-ahead" | "store-lost" | "no-store"} StoreFault
 */

const VERSION = 4;
/** Fixed for ever, like the database's name. @type {StoreNames} */
const STORES = ["events", "batches", "blocks", "drafts", "log", "standing"];

/** How long a step may take before it counts as failed; replaceable in tests. */
export const patience = { open: 2000, step: 2000 };

/** What opens the database; replaceable in tests. */
export const opener = { open: openDB };

/** Something was not stored, or could not be read. `code` is also the key of its words. */
export class StoreError extends Error {
  /** @param {StoreFault} code @param {unknown} [cause] @param {Record<string, number>} [filled] What its words name. */
  constructor(code, cause, filled = {}) {
    super(`${code}: ${cause instanceof Error ? `${cause.name} ${cause.message}` : ""}`, { cause });
    this.code = code;
    this.filled = filled;
  }
}

/** A write that the rules of the records forbid; trying again changes nothing. Thrown inside a transaction. */
export class Refusal extends Error {}

/** @type {Promise<Database> | undefined} */
let connection;

/** @type {Set<(gone: boolean) => void>} */
const letGoListeners = new Set();

/**
 * Calls back when this page had to let go of the database: for another tab that runs a newer build, or, `gone`, because
 * the whole store is being deleted or has been cleared by the browser.
 *
 * @param {(gone: boolean) => void} listener
 */
export const onLetGo = (listener) => letGoListeners.add(listener);

/** Drops the connection; the next step opens a new one. */
export async function disconnect() {
  const old = connection;
  connection = undefined;
  await old?.then((database) => database.close()).catch(() => {});
}

/**
 * Gives up work that has stood still for as long as the limit.
 *
 * @template T
 * @param {(going: () => void) => Promise<T>} start Given what to call whenever the work has gone on.
 * @param {number} limit [ms]
 * @param {StoreFault} code
 * @returns {Promise<T>}
 */
function within(start, limit, code) {
  return new Promise((resolve, reject) => {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;
    let ended = false;
    const going = () => {
      clearTimeout(timer);
      if (!ended) timer = setTimeout(() => reject(new StoreError(code)), limit);
    };
    going();
    start(going).then(resolve, reject).finally(() => {
      ended = true;
      clearTimeout(timer);
    });
  });
}

/** What an entry of what stands is found by, where it has it. */
const FOUND_BY = /** @type {const} */ (["rack", "aside", "closed", "lifted", "soap", "covered", "shelved", "trained", "walked", "stopped"]);

/** @param {Database} database @param {number} from @param {number | null} _to @param {IDBPTransaction<Schema, StoreNames, "versionchange">} transaction */
function upgrade(database, from, _to, transaction) {
  // For what stands of blocks, walks and tanks, since version 4. Its entries are made from the events, once, by store/standing.mjs.
  const standing = database.createObjectStore("standing", { keyPath: "key" });
  for (const name of FOUND_BY) standing.createIndex(name, name);
  standing.createIndex("drew", "drew", { multiEntry: true });
  if (from >= 1) findByOthers(transaction.objectStore("batches"));
  if (from >= 3) return;
  // For the batch log, since version 3: its entries are made as those are, by store/log.mjs. There it also had an index that nobody asks.
  const log = database.createObjectStore("log", { keyPath: "code" });
  log.createIndex("at", "at");
  if (from >= 2) return;
  // For blocks in hand, since version 2. Before it nothing was stored about blocks.
  database.createObjectStore("blocks", { keyPath: "subject" });
  if (from >= 1) return;
  const events = database.createObjectStore("events", { keyPath: "id" });
  events.createIndex("kind", "kind");
  events.createIndex("subject", "subject");
  const batches = database.createObjectStore("batches", { keyPath: "id" });
  batches.createIndex("code", "code");
  batches.createIndex("at", "at");
  batches.createIndex("formula", "formulaEvent");
  findByOthers(batches);
  database.createObjectStore("drafts", { keyPath: "key" });
}

/** A sheet by the soap set aside that it takes of, and by the sheet in whose place it stands; since version 4. @param {IDBPObjectStore<Schema, any, "batches", "versionchange">} batches */
function findByOthers(batches) {
  batches.createIndex("takes", "takes", { multiEntry: true });
  batches.createIndex("replaces", "replaces");
}

/** @param {number} limit [ms] @returns {Promise<Database>} */
function connect(limit) {
  if (connection) return connection;
  let blocked = false;
  /** @type {Promise<Database>} */
  const opening = Promise.resolve().then(() =>
    opener.open(named(), VERSION, {
      upgrade,
      blocked: () => {
        blocked = true;
      },
      blocking: (_mine, wanted) => {
        void disconnect();
        // A deletion asks for no version.
        for (const listener of letGoListeners) listener(wanted === null);
      },
      terminated: () => {
        if (connection === current) connection = undefined;
        for (const listener of letGoListeners) listener(true);
      },
    }),
  );
  // An opening that succeeds after we gave up on it must not stay open: it would block another tab's upgrade.
  const current = within(() => opening, limit, "store-slow").catch((error) => {
    if (connection === current) connection = undefined;
    opening.then((late) => late.close()).catch(() => {});
    throw blocked ? new StoreError("store-blocked", error) : error;
  });
  connection = current;
  return current;
}

/** Opens the database ahead of the first step. */
export const openAhead = () => void connect(patience.open).catch(() => {});

/**
 * Whether one's own database holds anything of this, seen from a page that was opened in practice. Nothing stays open.
 *
 * @param {"events" | "blocks"} store
 * @param {number} [limit] [ms]
 * @returns {Promise<boolean>} Rejects with `StoreError`.
 */
export async function ownHolds(store, limit = patience.open) {
  /** @type {Promise<Database>} */
  const opening = Promise.resolve().then(() => opener.open(NAMES.own, VERSION, { upgrade }));
  try {
    return await within(async () => (await (await opening).getAllKeys(store, null, 1)).length > 0, limit, "store-slow");
  } catch (error) {
    throw asStoreError(error);
  } finally {
    // One that opens late must not stay open either.
    opening.then((database) => database.close()).catch(() => {});
  }
}

/** @param {unknown} error */
function asStoreError(error) {
  if (error instanceof StoreError) return error;
  const name = error instanceof Error || error instanceof DOMException ? error.name : "";
  if (name === "QuotaExceededError") return new StoreError("store-full", error);
  if (name === "VersionError") return new StoreError("store-ahead", error);
  if (name === "SecurityError" || typeof indexedDB === "undefined") return new StoreError("no-store", error);
  return new StoreError("store-failed", error);
}

/**
 * @template T
 * @param {"readonly" | "readwrite"} mode
 * @param {(transaction: Writing, going: () => void) => Promise<T>} work
 * @param {number} limit [ms]
 * @returns {Promise<T>}
 */
async function attempt(mode, work, limit) {
  const database = await connect(Math.max(limit, patience.open));
  // "strict": without it "complete" may fire while the record is only in the system's write cache.
  const transaction = /** @type {Writing} */ (database.transaction(STORES, mode, { durability: "strict" }));
  const done = transaction.done;
  done.catch(() => {});
  try {
    return await within(async (going) => {
      const result = await work(transaction, going);
      await done;
      return result;
    }, limit, "store-slow");
  } catch (error) {
    try {
      transaction.abort();
    } catch {
      // It had ended by itself.
    }
    throw error;
  }
}

/**
 * Runs `work` in one transaction over all stores and resolves after the browser says that it is complete. A dead
 * connection is replaced once. `work` may await database calls only: anything else lets the transaction commit early.
 *
 * @template T
 * @param {"readonly" | "readwrite"} mode
 * @param {(transaction: Writing, going: () => void) => Promise<T>} work Long work says with each call of `going` that it
 *   goes on.
 * @param {number} [limit] For all of it, or since it last went on. [ms]
 * @returns {Promise<T>} Rejects with `StoreError`, or with a `Refusal` thrown by `work`.
 */
export async function transact(mode, work, limit = patience.step) {
  for (let again = true; ; again = false) {
    try {
      return await attempt(mode, work, limit);
    } catch (error) {
      if (error instanceof Refusal) throw error;
      const fault = asStoreError(error);
      await Promise.race([disconnect(), new Promise((resolve) => setTimeout(resolve, 100))]);
      if (!again || fault.code !== "store-failed") throw fault;
    }
  }
}
