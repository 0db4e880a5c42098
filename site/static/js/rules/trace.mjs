import { inOrder } from "./fold.mjs";
import { lotKey, sameLots } from "./lot_key.mjs";

/** @import { LogEntry, TarewellEvent } from "./types.mjs" */

/**
 * @typedef {object} Told          All that a trace can be picked from.
 * @property {LogEntry[]} log
 * @property {TarewellEvent[]} contents   what was told of tanks
 * @property {TarewellEvent[]} packed     packed lots, with what was sent and came back
 * @property {Pick<TarewellEvent, "subject" | "values">[]} [saves]   what was saved of lots whose code was changed
 */

/** The blocks of a batch as lots of set-aside soap are called. @param {LogEntry} entry */
const asLots = ({ code, parts }) => parts.map(({ n }) => `${code}/${n}`);

/** What a code was really or may have been weighed from. @param {LogEntry} entry */
const lotsOf = ({ lots, drawn = [] }) => [...lots, ...drawn.map(({ lot }) => lot)].filter(Boolean);

/** @param {string} text */
const plain = (text) => text.trim().toLowerCase();

/**
 * What a code may have to do with: at least every batch that it reached or came from, and all packed lots of theirs. Python
 * reckons with nothing else, so that a recall takes no longer after ten thousand batches; what is here too much, it leaves out.
 *
 * @param {string} code Of a lot, a batch or a packed lot, or an outlet's name or id.
 * @param {Told} told @param {(id: string) => string} [named] What an outlet is called.
 * @returns {{entries: LogEntry[], packed: TarewellEvent[]}}
 */
export function picked(code, { log, contents, packed, saves = [] }, named = (id) => id) {
  const wanted = plain(code);
  const byCode = new Map(log.map((entry) => [entry.code, entry]));
  const lotsGone = packedAbout(wanted, packed, named);
  const forward = reachedBy(code, log, contents, sameLots(saves));
  const start = [...log.filter((entry) => plain(entry.code) === wanted), ...lotsGone.flatMap((event) => (event.parts ?? []).flatMap((part) => ("code" in part ? (byCode.get(part.code) ?? []) : [])))];
  const taken = takers(start, log);
  const own = sources([...forward, ...start, ...taken], byCode);
  const blank = log.filter((entry) => entry.state !== "issued" && lotsOf(entry).length === 0 && (entry.drawn ?? []).length === 0);
  const codes = new Set([...own, ...blank].map((entry) => entry.code));
  const gone = new Set(lotsGone.map(({ subject }) => subject));
  const lots = packed.filter(({ kind, subject, parts = [] }) => kind === "packed" && (gone.has(subject) || parts.some((part) => "code" in part && (codes.has(part.code) || !byCode.has(part.code)))));
  // Whoever reads a packed lot finds each of its batches here, or takes it for one that nobody recorded.
  const beside = lots.flatMap(({ parts = [] }) => parts.flatMap((part) => ("code" in part ? (byCode.get(part.code) ?? []) : [])));
  const ids = new Set(lots.map(({ subject }) => subject));
  return { entries: [...new Set([...own, ...blank, ...beside])], packed: packed.filter(({ subject }) => ids.has(subject)) };
}

/**
 * The blocks on racks, "CODE/N", that the log tells nothing of: made on paper, they may hold any lot.
 *
 * @param {Pick<LogEntry, "code" | "parts">[]} log @param {Pick<TarewellEvent, "subject">[]} racked
 */
export function unlogged(log, racked) {
  const told = new Set(log.flatMap(({ code, parts }) => parts.map(({ n }) => `${code}/${n}`)));
  return [...new Set(racked.map(({ subject }) => subject.replace("cure:", "")))].filter((block) => !told.has(block));
}

/** What the letters and digits of a code are, without dashes, slashes and blanks. @param {string} code */
const bare = (code) => code.toLowerCase().replace(/[^\p{L}\p{N}]/gu, "");

/**
 * The code that is meant by what was typed: itself where it is known, else the only known one of the same letters and digits.
 *
 * @param {string} typed @param {Iterable<string>} known
 */
export function meantBy(typed, known) {
  const wanted = bare(typed);
  const alike = new Map([...known].filter((code) => bare(code) === wanted).map((code) => [lotKey(code), code]));
  const [only] = alike.values();
  return wanted === "" || alike.has(lotKey(typed)) || alike.size !== 1 || only === undefined ? typed : only;
}

/** The packed lots that the code itself names, that packaging of that code went round, or whose bars went to the outlet that it names. @param {string} wanted @param {TarewellEvent[]} packed @param {(id: string) => string} named */
function packedAbout(wanted, packed, named) {
  const subjects = new Set(packed.flatMap(({ kind, subject, code = "", outlet = "", outlet_name = "", packaging = [] }) => {
    if (kind === "packed" && packaging.some(({ lot }) => plain(lot) === wanted)) return [subject];
    if (kind === "packed") return plain(code) === wanted || plain(subject) === `packed:${wanted}` ? [subject] : [];
    return outlet !== "" && [outlet, outlet_name ?? "", named(outlet)].some((name) => plain(name) === wanted) ? [subject] : [];
  }));
  return packed.filter(({ kind, subject }) => kind === "packed" && subjects.has(subject));
}

/**
 * Every batch that a lot may be in: by itself, through a tank it was loaded into, and through soap set aside of such a batch.
 *
 * @param {string} code @param {LogEntry[]} log @param {TarewellEvent[]} contents @param {(code: string) => Set<string>} same
 */
function reachedBy(code, log, contents, same) {
  const { lots, blends } = throughTanks(code, contents, same);
  const first = log.filter((entry) => lotsOf(entry).some((lot) => lots.has(lotKey(lot))) || (blends && (entry.drawn ?? []).some(({ lot }) => lot === "")));
  return [...first, ...takers(first, log)];
}

/**
 * What lye was called that the lot went into, however often; and whether it went into a blend of oils, which the load itself
 * tells: a tank that holds oils now may have held lye before.
 *
 * @param {string} code @param {TarewellEvent[]} contents @param {(code: string) => Set<string>} same
 */
function throughTanks(code, contents, same) {
  const lots = same(code);
  /** @type {Map<string, Set<string>>} */
  const called = new Map();
  for (const { subject, as_lot } of contents) if (as_lot) called.set(subject, (called.get(subject) ?? new Set()).add(as_lot));
  let blends = false;
  for (let before = -1; before !== lots.size; ) {
    before = lots.size;
    for (const { subject, parts = [] } of inOrder(contents)) {
      if (!parts.some((part) => "lot" in part && part.lot && lots.has(lotKey(part.lot)))) continue;
      if (!parts.some((part) => "alkali" in part && part.alkali)) blends = true;
      for (const name of called.get(subject) ?? []) for (const key of same(name)) lots.add(key);
    }
  }
  return { lots, blends };
}

/** The batches that soap set aside of these went into, however often. @param {LogEntry[]} first @param {LogEntry[]} log */
function takers(first, log) {
  /** @type {Map<string, LogEntry[]>} */
  const taking = new Map();
  for (const entry of log) for (const lot of new Set(lotsOf(entry))) if (lot.includes("/")) taking.set(lot, [...(taking.get(lot) ?? []), entry]);
  const found = new Set(first);
  // Whoever is added while it is gone through is gone through too.
  for (const entry of found) for (const lot of asLots(entry)) for (const taker of taking.get(lot) ?? []) found.add(taker);
  return [...found];
}

/** These batches, and every one whose set-aside soap is in them, however often. @param {LogEntry[]} entries @param {Map<string, LogEntry>} byCode */
function sources(entries, byCode) {
  const found = new Set(entries);
  for (const entry of found) {
    for (const lot of lotsOf(entry)) {
      const source = byCode.get(lot.replace(/\/\d+$/, ""));
      if (lot.includes("/") && source) found.add(source);
    }
  }
  return [...found];
}
