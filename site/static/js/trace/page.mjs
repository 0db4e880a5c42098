/** The page of a trace: the code that its address names, or that is typed, goes to Python with what is picked for it. */

import { decoded } from "../frame/address.mjs";
import { app, question } from "../frame/app.mjs";
import { fault } from "../frame/notice.mjs";
import { Regions } from "../frame/regions.mjs";
import { untilRead } from "../frame/unread.mjs";
import { savedLots } from "../log/lot_saves.mjs";
import { wholeLog } from "../log/whole.mjs";
import { PACKED_KINDS, STOCK_KINDS, TANK_KINDS } from "../rules/kinds.mjs";
import { renamed } from "../rules/lot_key.mjs";
import { BARS } from "../rules/stock.mjs";
import { meantBy, picked, unlogged } from "../rules/trace.mjs";
import { eventsAbout, eventsOfKinds } from "../store/events.mjs";

/** @import { Item, Kind, TarewellEvent } from "../rules/types.mjs" */
/** @import { Told } from "../rules/trace.mjs" */

/** What was read last. @type {Told & {racked: TarewellEvent[], read: boolean}} */
const told = { log: [], contents: [], packed: [], racked: [], read: false };

/** So many codes are offered while one types; a browser shows a few of them. */
const OFFERED = 400;
/** The kinds of lots. */
const LOTS = ["oil_lot", "alkali_lot", "scent_lot", "additive_lot"];
/** What a trace reads of the workshop beside them. */
const OTHERS = ["units", "shop", "outlet", "contents", "packaging_lot"];

const regions = new Regions([...document.querySelectorAll(/** @type {"div"} */ ('[data-answer="trace"]'))]);
const field = /** @type {HTMLInputElement | null} */ (document.getElementById("trace-code"));
const problem = /** @type {HTMLElement | null} */ (document.querySelector("[data-trace-problem]"));

/** Reads the records anew and asks again. */
export async function readAll() {
  const demo = [...(app.state.log_entries ?? []), ...(app.state.stock_log ?? [])];
  told.log = [...demo, ...(await wholeLog())];
  told.racked = [...(app.state.cure ?? []).filter((/** @type {TarewellEvent} */ { kind }) => kind === "cure_racked"), ...(await untilRead(() => eventsOfKinds(["cure_racked"]), () => []))];
  told.contents = [...(app.state.contents ?? []), ...(await untilRead(() => eventsOfKinds(TANK_KINDS), () => []))];
  told.packed = [...(app.state.packed_events ?? []), ...(await untilRead(() => eventsOfKinds(PACKED_KINDS), () => []))];
  told.saves = renamed(await savedLots());
  told.read = true;
  offerCodes();
  await show();
}

/** Every code that a trace may be asked for. */
function* knownCodes() {
  for (const kind of [...LOTS, "packaging_lot"]) for (const { values } of /** @type {Item[]} */ (app.state[kind] ?? [])) yield values.code ?? "";
  for (const { values } of told.saves ?? []) yield values?.code ?? "";
  for (const { code, lots, drawn } of told.log) yield* [code, ...lots, ...(drawn ?? []).map(({ lot }) => lot)];
  for (const { parts = [] } of told.contents) for (const part of parts) if ("lot" in part && part.lot) yield part.lot;
  for (const { kind, code = "" } of told.packed) if (kind === "packed") yield code;
  for (const { subject } of told.racked) yield subject.replace("cure:", "").replace(/\/\d+$/, "");
  for (const { values } of /** @type {Item[]} */ (app.state.outlet ?? [])) yield values.name ?? "";
}

/** @returns {{code: string, kind: string}} What the address names. */
function named() {
  const [code = "", put = ""] = location.hash.slice(1).split(/\?(.*)/s);
  return { code: decoded(code), kind: new URLSearchParams(put).get("kind") ?? "" };
}

/** What each outlet is called. @param {string} id */
const outletName = (id) => (app.state.outlet ?? []).find((/** @type {Item} */ item) => item.id === id)?.values.name ?? id;

function offerCodes() {
  const lots = LOTS.flatMap((kind) => (app.state[kind] ?? []).map((/** @type {Item} */ { values }) => values.code ?? ""));
  const outlets = (app.state.outlet ?? []).map((/** @type {Item} */ { values }) => values.name ?? "");
  const newest = [...told.log].reverse().slice(0, OFFERED).map(({ code }) => code);
  const packed = told.packed.flatMap(({ kind, code = "" }) => (kind === "packed" ? [code] : [])).reverse().slice(0, OFFERED);
  const options = [...new Set([...lots, ...outlets, ...packed, ...newest])].filter(Boolean).map((code) => {
    const option = document.createElement("option");
    option.value = code;
    return option;
  });
  document.getElementById("trace-codes")?.replaceChildren(...options);
}

/** Shows what the address names. */
async function show() {
  const { hash } = location;
  const { code, kind } = named();
  if (field && document.activeElement !== field) field.value = code;
  if (!told.read) return;
  regions.busy();
  const state = await stateFor(code);
  if (location.hash !== hash) return;
  performance.mark("tarewell-trace-asked");
  const reply = await question("trace", { ...(code ? { code } : {}), ...(kind ? { kind } : {}) }, { state });
  if (location.hash !== hash) return;
  performance.mark("tarewell-traced");
  if (reply?.off) regions.off(reply.off, true);
  else if (reply?.fault !== undefined) fault(reply.fault, reply.report ?? "");
  const [first] = reply?.problems ?? [];
  if (problem) {
    problem.hidden = !first;
    problem.textContent = first ? `${first.message} ${first.remedy}` : "";
  }
  if (reply && !reply.off) regions.show(reply.html ?? {}, reply.ok === true);
}

/** The part of the records that a code may have to do with. @param {string} code @returns {Promise<Record<string, any>>} */
async function stateFor(code) {
  const own = Object.fromEntries([...LOTS, ...OTHERS].map((key) => [key, app.state[key]]).filter(([, value]) => value !== undefined));
  if (code === "") {
    const samples = await untilRead(() => eventsOfKinds(["sample_kept", "release_taken_back"]), () => []);
    return { ...own, release_events: [...(app.state.release_events ?? []), ...samples] };
  }
  const { entries, packed } = picked(code, told, outletName);
  const alone = unlogged(told.log, told.racked);
  const inLots = packed.flatMap(({ parts = [] }) => parts.flatMap((part) => ("code" in part ? [`${part.code}/${part.block}`] : [])));
  const blocks = [...new Set([...entries.flatMap(({ code: batch, parts }) => parts.map(({ n }) => `${batch}/${n}`)), ...alone, ...inLots])];
  const about = (/** @type {string} */ begins, /** @type {Kind[]} */ kinds) =>
    untilRead(() => (blocks.length > MANY ? eventsOfKinds(kinds) : eventsAbout(blocks.map((block) => begins + block))), () => []);
  const [samples, counts] = await Promise.all([about("release:", ["released", "sample_kept", "release_taken_back"]), about(BARS, STOCK_KINDS)]);
  const ofRacks = (app.state.cure ?? []).filter((/** @type {TarewellEvent} */ { subject }) => alone.includes(subject.replace("cure:", "")));
  const cure = [...ofRacks, ...(await untilRead(() => eventsAbout(alone.map((block) => `cure:${block}`)), () => []))];
  const log_entries = entries.map(({ code: batch, formula, formulaName, local, parts, lots, drawn, used }) => ({ code: batch, formula, formulaName, local, parts, lots, drawn, used: (used ?? []).map(({ n, kind, lot, parts: of }) => ({ n, kind, lot, ...(of ? { parts: of } : {}) })) }));
  return { ...own, lot_saves: told.saves, contents: told.contents, cure, log_entries, packed_events: packed, release_events: [...(app.state.release_events ?? []), ...samples], stock: [...(app.state.stock ?? []), ...counts] };
}

/** From so many blocks on, all that was told of samples and counts is read at once. */
const MANY = 200;

/** Traces what is typed, and what the address names from then on. */
export function watchTrace() {
  document.querySelector("form[data-trace]")?.addEventListener("submit", (event) => {
    event.preventDefault();
    const typed = field?.value.trim() ?? "";
    const code = meantBy(typed, knownCodes());
    field?.blur();
    if (named().code === code) void show();
    else location.hash = encodeURIComponent(code);
  });
  addEventListener("hashchange", () => void show());
}
