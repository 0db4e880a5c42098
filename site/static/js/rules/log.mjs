import { BARS, GOOD } from "./after_pour.mjs";
import { AS_PLANNED, blockOf, SCALED } from "./block.mjs";
import { closingOf } from "./closing.mjs";
import { inOrder } from "./fold.mjs";
import { counting, lotsOf, outside } from "./readings.mjs";
import { CHECKED_BEFORE } from "./scale_checks.mjs";
import { lotsOfMix } from "./scent_mix.mjs";
import { standing } from "./taken_back.mjs";

/** @import { DrawnLot, LogEntry, LogPart, LogState, TarewellEvent, UsedLot } from "./types.mjs" */

/*
 * The batch log: one small plain entry for each batch, from which lists, search and trace tell without its sheet. Pure and
 * total, like all folds.
 */

/** Raised whenever an entry holds other things than before: those of an older fold are made anew. */
export const FOLD = 3;

/** What the subjects of a block's events begin with. Each goes on with the batch's code, a slash and the block. */
export const ABOUT_BLOCK = /** @type {const} */ (["block", "cure", "aside", "release"]);

/**
 * The batch that an event is about, and which block of it, 0 where it is about all; null where it is about none.
 *
 * @param {{subject: string}} event @returns {[string, number] | null}
 */
export function batchOf({ subject }) {
  const colon = subject.indexOf(":");
  const [room, named] = [subject.slice(0, colon), subject.slice(colon + 1)];
  if (room === "batch") return [named, 0];
  return ABOUT_BLOCK.some((each) => each === room) ? blockOf(`block:${named}`) : null;
}

/**
 * @param {TarewellEvent[]} events All of one batch. Of sheets issued under one code, which two phones can do, the first counts.
 * @returns {LogEntry | null} null where nothing was issued under that code
 */
export function logEntry(events) {
  const ordered = inOrder(events);
  const [issued, ...others] = ordered.filter(({ kind }) => kind === "issued");
  if (!issued) return null;
  /** @type {Map<number, TarewellEvent[]>} */
  const told = new Map(Array.from({ length: issued.blocks ?? 1 }, (_, n) => [n + 1, []]));
  for (const event of ordered) {
    const n = batchOf(event)?.[1] ?? 0;
    if (!told.has(n)) told.set(n, []);
    told.get(n)?.push(event);
  }
  told.delete(0);
  const blocks = [...told].sort(([a], [b]) => a - b).map(([n, all]) => blockTold(issued, n, all));
  return {
    code: issued.code ?? "",
    fold: FOLD,
    at: issued.at,
    local: issued.local,
    formula: issued.formula?.id ?? "",
    formulaName: issued.formula?.name ?? "",
    formulaEvent: issued.formula?.event ?? "",
    blocks: issued.blocks ?? 1,
    state: stateOf(blocks.map(({ part }) => part)),
    parts: blocks.map(({ part }) => part),
    lots: once(blocks.flatMap(({ lots }) => lots)),
    used: blocks.flatMap(({ used }) => used),
    drawn: blocks.flatMap(({ drawn }) => drawn),
    people: once([issued.issued_by ?? "", ...blocks.flatMap(({ part }) => part.people)]),
    deviations: blocks.reduce((sum, { part }) => sum + part.deviations, 0) + (issued.reason ? 1 : 0),
    words: once([issued.reason ?? "", ...blocks.flatMap(({ words }) => words)]),
    ...(issued.replaces ? { replaces: issued.replaces } : {}),
    ...(others.length > 0 ? { twice: true } : {}),
  };
}

/** The states of a block, in the order of its life. @type {LogState[]} */
export const STATES = ["issued", "weighing", "poured", "cut", "curing", "cured", "released", "reworked", "rejected", "ended", "apart"];

/** Of a block in one of these nothing more is to do. */
const OVER = STATES.indexOf("released");

/**
 * A batch is as far as the least of the blocks that are begun and not over. Where all of them are over it is what the first of
 * them in this order is: one good block makes it a batch for sale.
 *
 * @param {LogPart[]} parts @returns {LogState}
 */
function stateOf(parts) {
  const begun = parts.map(({ state }) => STATES.indexOf(state)).filter((place) => place > 0);
  const open = begun.filter((place) => place < OVER);
  return STATES[Math.min(...(open.length > 0 ? open : begun))] ?? "issued";
}

/** @param {TarewellEvent} issued @param {number} n @param {TarewellEvent[]} events All about one block, in order. */
function blockTold(issued, n, events) {
  const stand = standing(events);
  const block = stand.filter(({ subject }) => subject.startsWith("block:"));
  const closed = closingOf(block) ?? undefined;
  const poured = block.find(({ kind, step }) => kind === "checked" && step === "pour") ?? closed;
  const racked = stand.find(({ kind }) => kind === "racked" || kind === "cure_racked");
  const good = block.findLast(({ kind, step }) => kind === "measured" && step === GOOD);
  const released = stand.findLast(({ kind }) => RELEASE.has(kind));
  const deviations = deviationsOf(issued, stand);
  /** @type {string[]} */
  const frozen = closed?.record?.deviations ?? [];
  const used = usedOf(issued, n, closed, block);
  const drawn = drawnOf(issued, n, block);
  /** @type {LogPart} */
  const part = {
    n,
    state: stateOfBlock(stand),
    poured_on: dayOf(poured),
    closed_at: block.find(({ kind }) => kind === "closed")?.local ?? "",
    racked_on: racked?.values?.cut_on || dayOf(racked),
    released_on: released && RELEASE.get(released.kind) === "released" ? dayOf(released) : "",
    bars: good ? Number(counting(block, good).reading) : (racked?.bars ?? null),
    people: once(events.map(({ person }) => person ?? "")),
    deviations: deviations.length,
  };
  return {
    part,
    used,
    drawn,
    lots: once([...(closed?.record ? used.flatMap(({ lot, parts }) => parts?.map((each) => each.lot) ?? [lot]) : plannedLots(issued, block)), ...drawn.map(({ lot }) => lot)]),
    words: once([...deviations, ...frozen]).map((words) => words.slice(0, LONGEST)),
  };
}

/** What is searched of one deviation: the rest is read on its page. */
const LONGEST = 300;

/** What is decided about a block's bars: branch by branch what comes last counts. @type {Map<string, LogState>} */
const RELEASE = new Map([["released", "released"], ["rejected", "rejected"], ["reworked", "reworked"]]);

/** @param {TarewellEvent[]} events Of a block, in order, without what was taken back. @returns {LogState} */
function stateOfBlock(events) {
  const last = (/** @type {string[]} */ kinds) => events.findLast(({ kind }) => kinds.includes(kind));
  const released = last([...RELEASE.keys()]);
  if (released) return RELEASE.get(released.kind) ?? "released";
  const cure = last(["cure_racked", "cure_moved", "cure_ready"]);
  if (cure || last(["racked"])) return cure?.kind === "cure_ready" ? "cured" : "curing";
  if (last(["ended"])) return "ended";
  if (events.some(({ kind, step }) => (kind === "checked" && step === BARS) || (kind === "measured" && step === GOOD))) return "cut";
  const closed = closingOf(events);
  if (closed) return closed.outcome === "quarantined" ? "apart" : "poured";
  return events.some(({ subject }) => subject.startsWith("block:")) ? "weighing" : "issued";
}

/**
 * What went otherwise than the sheet has it, each by what somebody said of it: a reading outside its band, one put right, a
 * check or a person gone on with all the same, another lot, fewer bars, a block set apart or given up, soap rejected, reworked
 * or released against a check. A decision about a reading is no deviation of its own. calc/record/batch_record.py tells the same ones.
 *
 * @param {TarewellEvent} issued @param {TarewellEvent[]} events Of one block, in order.
 */
function deviationsOf(issued, events) {
  const said = events.flatMap((event) => {
    const { kind, reason, note = "" } = event;
    if (kind === "weighed") return outside(event, counting(events, event).reading ?? "") ? [reasonOf(events, event)] : [];
    if (kind === "checked") return note !== "" && note !== CHECKED_BEFORE ? [note] : [];
    if (kind === "closed") return event.outcome === "quarantined" ? [reason ?? ""] : [];
    if (ALWAYS.has(kind)) return [reason ?? ""];
    return reason && kind !== "decided" ? [reason] : [];
  });
  const planned = new Map((issued.pours ?? []).map((/** @type {{key: string, lot: string | null}} */ pour) => [pour.key, pour.lot]));
  const others = Object.entries(lotsOf(events)).filter(([key, lot]) => planned.has(key) && planned.get(key) !== lot);
  return [...said, ...others.map(([, lot]) => lot)];
}

/** What is a deviation also where nobody gave a reason. @type {Set<string>} */
const ALWAYS = new Set(["corrected", "ended", "rejected", "reworked"]);

/** Why it was gone on from a reading outside its band. @param {TarewellEvent[]} events @param {TarewellEvent} weighed */
const reasonOf = (events, weighed) =>
  events.find(({ kind, step, choice = "", reason }) => kind === "decided" && step === weighed.step && reason && choice !== SCALED && choice !== AS_PLANNED)?.reason ?? "";

/**
 * Of a closed block what went in, by lot: a pour that was weighed out of two has a row for each.
 *
 * @param {TarewellEvent} issued @param {number} n @param {TarewellEvent | undefined} closed @param {TarewellEvent[]} events Of the block. @returns {UsedLot[]}
 */
function usedOf(issued, n, closed, events) {
  const kinds = kindsOf(issued);
  /** @type {{pour: string, lot: string | null, actual_g: number, lots?: {lot: string | null, actual_g: number}[]}[]} */
  const amounts = closed?.record?.amounts ?? [];
  return amounts.flatMap(({ pour, lot, actual_g, lots }) =>
    (lots ?? [{ lot, actual_g }]).map(({ lot: own, actual_g: g }) => {
      const kind = kinds.get(pour) ?? "additive";
      const parts = kind === "scent" ? lotsOfMix(issued, own ?? "") : null;
      const readings = lots ? [] : readingsByLot(events, pour);
      return { n, pour, kind, lot: own ?? "", g, ...(parts ? { parts } : {}), ...(readings.length > 0 ? { readings } : {}) };
    }));
}

/** @param {TarewellEvent} issued @returns {Map<string, string>} */
function kindsOf({ pours }) {
  return new Map((pours ?? []).map((/** @type {{key: string, kind?: string}} */ { key, kind }) => [key, kind ?? KINDS.get(key.split(":")[0] ?? "") ?? "additive"]));
}

/**
 * Of a record that was closed before it told the lots of a pour apart: what the display showed of each, where it was tared each
 * time and nothing was weighed anew. Python splits the pour by that.
 *
 * @param {TarewellEvent[]} events Of the block. @param {string} pour
 */
function readingsByLot(events, pour) {
  const own = events.filter(({ kind, step = "" }) => kind === "weighed" && (step === pour || step.startsWith(`${pour}:`)));
  const plain = own.every(({ mode, lot, unit, reading }) => mode !== "gross" && lot && unit && reading) && new Set(own.map(({ unit }) => unit)).size === 1;
  const anew = events.some(({ kind, step = "" }) => kind === "weighed" && step.includes(`:${pour}`));
  if (!plain || anew || new Set(own.map(({ lot }) => lot)).size < 2) return [];
  return own.map((event) => ({ lot: event.lot ?? "", reading: counting(events, event).reading ?? "" }));
}

/** Of a block in one of these no bar is sold. @type {LogState[]} */
const UNSOLD = ["ended", "rejected"];

/** What was weighed into the closed blocks of a batch whose bars may be sold. @param {LogEntry | null} entry @returns {UsedLot[]} */
export function usedForSale(entry) {
  const unsold = new Set(entry?.parts.flatMap(({ n, state }) => (UNSOLD.includes(state) ? [n] : [])));
  return entry?.used.filter(({ n }) => !unsold.has(n)) ?? [];
}

/** How the key of a step ends that weighs all oils out of a tank in one; calc/steps/keys.py has it too. */
export const BLEND = "oil:blend";

/**
 * What each weighing itself was drawn from, which tells better than the choice of a lot that stood at the end; of a blend "", of
 * a mixed scent every lot of it. What was weighed anew counts too: some of it may have stayed.
 *
 * @param {TarewellEvent} issued @param {number} n @param {TarewellEvent[]} events Of one block. @returns {DrawnLot[]}
 */
function drawnOf(issued, n, events) {
  return events.flatMap(({ kind, at, local, lot, step = "" }) => {
    if (kind !== "weighed" || (!lot && !step.endsWith(BLEND))) return [];
    if (step.endsWith(BLEND)) return [{ n, lot: "", at, local }];
    const pieces = step.split(":").includes("scent") ? mixed(issued, lot ?? "") : [lot ?? ""];
    return pieces.map((each) => ({ n, lot: each, at, local, ...(step.split(":").includes("soap") ? { soap: /** @type {const} */ (true) } : {}) }));
  });
}

/** Every lot that a scent's line names. @param {TarewellEvent} issued @param {string} line */
const mixed = (issued, line) => once((lotsOfMix(issued, line) ?? [{ lot: line }]).map(({ lot }) => lot));

/** Of a pour that was frozen without its kind: by how its key begins; calc/steps/frozen.py has it too. */
const KINDS = new Map([["oil", "oil"], ["lye", "alkali"], ["water", "water"], ["scent", "scent"], ["soap", "soap"]]);

/** @param {TarewellEvent} issued @param {TarewellEvent[]} events Of one block. @returns {string[]} */
function plannedLots(issued, events) {
  const chosen = lotsOf(events);
  const kinds = kindsOf(issued);
  return (issued.pours ?? []).flatMap((/** @type {{key: string, lot: string | null}} */ { key, lot }) => {
    const line = chosen[key] ?? lot ?? "";
    return kinds.get(key) === "scent" ? mixed(issued, line) : [line];
  });
}

/** @param {string[]} texts Each once, none of them empty. */
const once = (texts) => [...new Set(texts.filter((text) => text !== ""))];

/** @param {TarewellEvent | undefined} event The day by the clock of who did it, "" where there is none. */
const dayOf = (event) => event?.local.slice(0, 10) ?? "";
