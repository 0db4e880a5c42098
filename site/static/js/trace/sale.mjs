/** What the forms from the rack to the customer tell Python beside the workshop: the blocks in question, and all that was told of them. */

import { decoded } from "../frame/address.mjs";
import { app, onWorkshop } from "../frame/app.mjs";
import { untilRead } from "../frame/unread.mjs";
import { wholeLog } from "../log/whole.mjs";
import { blockOf } from "../rules/block.mjs";
import { closingOf, isStale } from "../rules/closing.mjs";
import { inOrder } from "../rules/fold.mjs";
import { AFTER_SALE_KINDS, PACKED_KINDS } from "../rules/kinds.mjs";
import { standingPackings } from "../rules/packed.mjs";
import { DECIDED, WAITING } from "../rules/sale.mjs";
import { BARS } from "../rules/stock.mjs";
import { batch, eventsAbout, eventsOfKinds } from "../store/events.mjs";

/** @import { LogEntry, TarewellEvent } from "../rules/types.mjs" */

/** So many blocks are looked at, the newest: those that wait, and those that are decided on. */
const LOOKED = 40;
/** And so many packed lots. */
const LOTS = 80;

/** @typedef {{id: string, code: string, block: number, soap: string, state: string}} Looked */

onWorkshop(async () => {
  const demo = app.state;
  const log = await wholeLog();
  const newest = [...log].sort((a, b) => (a.at < b.at ? 1 : -1));
  /** @type {TarewellEvent[]} */
  const packed = [...(demo.packed_events ?? []), ...(await untilRead(() => eventsOfKinds(PACKED_KINDS), () => []))];
  const blocks = lookedAt(newest, namedHere());
  const all = [...blocks, ...ofDemo(demo)];
  const codes = new Set(all.map(({ code }) => code));
  const told = await untilRead(() => eventsAbout(all.flatMap(({ code, block }) => ["block:", "cure:", "release:", BARS].map((begins) => `${begins}${code}/${block}`))), () => []);
  const named = `packed:${lotHere()}`;
  const lots = [...packed.filter(({ kind }) => kind === "packed").slice(-LOTS).map(({ subject }) => subject), named];
  const ofBlocks = packed.filter(({ kind, parts = [] }) => kind === "packed" && parts.some((part) => "code" in part && codes.has(part.code))).map(({ subject }) => subject);
  const kept = new Set([...lots, ...ofBlocks]);
  app.state.packed_events = packed.filter(({ subject }) => kept.has(subject));
  app.state.release_events = [...(demo.release_events ?? []), ...told.filter(({ subject }) => subject.startsWith("release:"))];
  app.state.stock = [...(demo.stock ?? []), ...told.filter(({ subject }) => subject.startsWith(BARS))];
  app.state.cure = [...(demo.cure ?? []), ...told.filter(({ subject, kind }) => subject.startsWith("cure:") || kind === "racked")];
  app.state.log_entries = [...(demo.log_entries ?? []), ...newest.filter(({ code }) => codes.has(code)).map(asTold)];
  app.state.sheets = (await Promise.all([...codes].map((code) => sheetOf(code, told)))).flat();
  app.state.after_sale = await untilRead(() => eventsOfKinds(AFTER_SALE_KINDS), () => []);
  offer(all, app.state.release_events, app.state.packed_events);
});

/** The block that the address names. @returns {{code: string, block: number} | null} */
function namedHere() {
  const found = /^#(.+)[:/]([1-9]\d{0,2})$/.exec(decoded(location.hash.split("?")[0] ?? ""));
  return found ? { code: found[1] ?? "", block: Number(found[2]) } : null;
}

/** The packed lot that a form's address names: however old it is, bars of it can come back. */
const lotHere = () => location.hash.slice(1).split("?")[0] ?? "";

/** @param {LogEntry[]} newest @param {{code: string, block: number} | null} named @returns {Looked[]} */
function lookedAt(newest, named) {
  const all = newest.flatMap(({ code, formulaName, parts }) => parts.map(({ n, state }) => ({ id: `${code}:${n}`, code, block: n, soap: formulaName || code, state })));
  const waiting = all.filter(({ state }) => WAITING.has(state)).slice(0, LOOKED);
  const decided = all.filter(({ state }) => DECIDED.has(state)).slice(0, LOOKED);
  const asked = all.filter(({ code, block }) => code === named?.code && block === named.block);
  return [...new Set([...asked, ...waiting, ...decided])];
}

/** An entry without what only search reads. @param {LogEntry} entry */
const asTold = ({ code, formula, formulaName, local, parts }) => ({ code, formula, formulaName, local, parts });

/** The invented workshop's own blocks: those in its log, and those on its racks. @param {Record<string, any>} demo @returns {Looked[]} */
function ofDemo({ log_entries: log = [], cure = [] }) {
  const made = lookedAt(log, null);
  const racked = /** @type {TarewellEvent[]} */ (cure).filter(({ kind, id }) => kind === "cure_racked" && id.startsWith("demo-"));
  return [...made, ...racked.map(({ subject, soap = "" }) => {
    const [code = "", block = ""] = subject.replace("cure:", "").split("/");
    return { id: `${code}:${block}`, code, block: Number(block), soap, state: "curing" };
  })];
}

/** What the lists of the forms offer; whether a block's release still stands, Python says. @param {Looked[]} blocks @param {TarewellEvent[]} decided @param {TarewellEvent[]} packed */
function offer(blocks, decided, packed) {
  const item = (/** @type {Looked} */ { id, code, block, soap }) => ({ id, values: { name: `${soap}, ${code}/${block}` } });
  const released = new Set(decided.filter(({ kind }) => kind === "released").map(({ subject }) => subject.replace("release:", "").replace(/\/(\d+)$/, ":$1")));
  app.state.to_release = blocks.map(item);
  app.state.to_pack = blocks.filter(({ id }) => released.has(id)).map(item);
  const lots = standingPackings(packed).reverse();
  app.state.packed_lot = lots.map(({ subject, code = "" }) => ({ id: subject.replace("packed:", ""), values: { name: code } }));
}

/** What one block's record says of its superfat, whether a reading was put right since, and why it was set apart. @param {TarewellEvent[]} own */
function closedAs(own) {
  const closed = closingOf(own);
  return closed ? [[blockOf(closed.subject)[1], { superfat: closed.record?.superfat ?? null, stale: isStale(own), apart: closed.outcome === "quarantined" ? closed.reason : null }]] : [];
}

/** A sheet without what is only to be read, with the superfat that its blocks were really weighed to. @param {string} code @param {TarewellEvent[]} told */
async function sheetOf(code, told) {
  const [issued] = await untilRead(() => batch(code), () => []);
  if (!issued) return [];
  const own = inOrder(told.filter(({ subject }) => subject.startsWith(`block:${code}/`)));
  const closed = Object.fromEntries([...new Set(own.map(({ subject }) => subject))].flatMap((subject) => closedAs(own.filter((event) => event.subject === subject))));
  const { formula, pours, batter_g, chemistry, planned, scent, set_aside } = issued;
  return [{ code, soap: formula?.name ?? code, pours, batter_g, chemistry, planned, scent, closed, ...(set_aside ? { set_aside } : {}) }];
}
