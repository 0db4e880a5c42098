import { line, MARK } from "../rules/csv.mjs";
import { Zip, ZipDeflate } from "../vendor/fflate.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */

/**
 * All records as tables for a spreadsheet: a zip with one CSV file for each kind, named and with columns as the published
 * schema has them. A list within a record has a file of its own, whose rows name the record by its id.
 */

/** @typedef {Map<string, string | number | boolean>} Row  column -> cell */
/** @typedef {() => AsyncIterable<TarewellEvent[]> | Iterable<TarewellEvent[]>} Source */

/** Whole pages, as printed; no cell holds one. */
const PAGES = ["html"];
/** What was typed into every form a sheet leans on: each field a row, or each lot ever owned would be a column. */
const BY_FIELD = ["inputs"];
/** Things under their own keys: rows, like a list. */
const KEYED = ["replaced"];

/** Where the other tables say which record they are of. */
const OF = ["id", "local", "subject"];

/** @param {unknown} value @returns {value is object} */
const isThing = (value) => typeof value === "object" && value !== null && !Array.isArray(value);

/**
 * The rows that an event makes, each with its table. An item's table is its own kind's.
 *
 * @param {TarewellEvent} event @returns {{table: string, row: Row}[]}
 */
export function rowsOf(event) {
  /** @type {{table: string, row: Row}[]} */
  const rows = [];
  const table = event.kind === "saved" ? `saved.${event.subject.split(":")[0]}` : event.kind;
  const { kind: _told_by_the_table, ...fields } = event;
  const of = OF.map((field) => /** @type {[string, string]} */ ([field, String(/** @type {any} */ (event)[field])]));
  /** @type {Row} */
  const own = new Map([...of, ["at", event.at]]);
  rows.push({ table, row: own });

  /** @param {string} into @param {Row} row @param {string} path @param {unknown} value */
  const put = (into, row, path, value) => {
    const name = path.slice(path.lastIndexOf(".") + 1);
    if (PAGES.includes(name) || value === null || value === undefined) return;
    if (BY_FIELD.includes(path)) return byField(`${into}.${path}`, "", value);
    if (Array.isArray(value)) return list(into, row, path, value);
    if (!isThing(value)) return void row.set(path, /** @type {string | number | boolean} */ (value));
    if (KEYED.includes(name)) return list(into, row, path, Object.values(value));
    for (const [key, held] of Object.entries(value)) put(into, row, path === "" ? key : `${path}.${key}`, held);
  };
  /** @param {string} into @param {Row} row @param {string} path @param {unknown[]} values */
  const list = (into, row, path, values) => {
    if (!values.some(isThing)) {
      if (values.length > 0) row.set(path, values.map((held) => (Array.isArray(held) ? held.join(" ") : String(held))).join("; "));
      return;
    }
    const above = [...row].filter(([column]) => column === "n" || column.startsWith("n."));
    values.forEach((held, n) => {
      /** @type {Row} */
      const own = new Map([...of, ...above.map(([column, at]) => /** @type {[string, any]} */ ([`${column}.of`, at])), ["n", n + 1]]);
      rows.push({ table: `${into}.${path}`, row: own });
      put(`${into}.${path}`, own, isThing(held) ? "" : "value", held);
    });
  };
  /** @param {string} into @param {string} path @param {unknown} value */
  const byField = (into, path, value) => {
    if (typeof value === "object" && value !== null) {
      for (const [key, held] of Object.entries(value)) byField(into, path === "" ? key : `${path}.${key}`, held);
    } else if (value !== null && value !== undefined) {
      rows.push({ table: into, row: new Map([...of, ["field", path], ["value", /** @type {any} */ (value)]]) });
    }
  };
  for (const [field, value] of Object.entries(fields)) {
    if (!own.has(field)) put(table, own, field, value);
  }
  return rows;
}

/**
 * The zip with all tables. The records are read twice: first for the columns, then for the rows, so that no more than a
 * part of them is held at once.
 *
 * @param {Source} source In order, some at a time. @param {(share: number) => void} [told]
 * @returns {Promise<Blob>}
 */
export async function spreadsheet(source, told = () => {}) {
  /** @type {Map<string, Set<string>>} */
  const columns = new Map();
  let all = 0;
  for await (const some of source()) {
    for (const { table, row } of some.flatMap(rowsOf)) {
      const known = columns.get(table) ?? new Set();
      columns.set(table, known);
      for (const column of row.keys()) known.add(column);
    }
    all += some.length;
  }
  /** @type {BlobPart[]} */
  const parts = [];
  /** @type {Error | null} */
  let failed = null;
  const zip = new Zip((error, data) => {
    failed ??= error;
    // A Blob may lie on disk; bytes would stay in memory. A copy of the bytes: the library may use its own again.
    if (data) parts.push(new Blob([data.slice()]));
  });
  const encoder = new TextEncoder();
  /** @type {Map<string, ZipDeflate>} */
  const files = new Map();
  for (const [table, known] of [...columns].sort(([a], [b]) => (a < b ? -1 : 1))) {
    const file = new ZipDeflate(`${table}.csv`);
    zip.add(file);
    file.push(encoder.encode(MARK + line([...known])));
    files.set(table, file);
  }
  let done = 0;
  for await (const some of source()) {
    /** @type {Map<string, string>} */
    const texts = new Map();
    for (const { table, row } of some.flatMap(rowsOf)) {
      texts.set(table, (texts.get(table) ?? "") + line([...(columns.get(table) ?? [])].map((column) => row.get(column))));
    }
    for (const [table, text] of texts) files.get(table)?.push(encoder.encode(text));
    told((done += some.length) / Math.max(all, done));
  }
  for (const file of files.values()) file.push(new Uint8Array(), true);
  zip.end();
  if (failed) throw failed;
  return new Blob(parts, { type: "application/zip" });
}
