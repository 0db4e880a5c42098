import { blockState } from "../frame/block_state.mjs";
import { screen } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { instantWords, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { blockOf } from "../rules/block.mjs";
import { asDeed } from "../rules/fill.mjs";
import { elsewhereWords, thisDevice } from "../shop/elsewhere.mjs";
import { clock } from "../store/clock.mjs";
import { blockEvents, blocksInHand, eventsOfBatch, fillEvents, fillsInHand, recentBatches, replacementOf } from "../store/events.mjs";
import { AfterDay, afterLink } from "./after_day.mjs";
import { fillLink } from "./fill_link.mjs";
import { inWords } from "./step_words.mjs";
import { mode } from "../store/mode.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Stage } from "../frame/stage.mjs" */

/** How many of either are listed at first. */
const SHOWN = 20;

/** @param {string} target @param {string} name @param {string} about @param {string} [state] */
const row = (target, name, about, state = "") => screen("row", { target, name, about, state });

/** @param {number} number @param {string} code */
export const blockLink = (code, number) => `#${encodeURIComponent(code)}/${number}`;

/** @param {Stage} stage @param {string} code */
export const sheetAddress = (stage, code) => `${stage.root.dataset.sheetUrl}#${encodeURIComponent(code)}`;

/** Everything in hand, and what can be begun. @param {Stage} stage @param {number} [limit] */
export async function showBatches(stage, limit = SHOWN) {
  const blocks = await untilRead(() => blocksInHand(limit + 1));
  const batches = await untilRead(() => recentBatches(limit + 1));
  const day = new AfterDay();
  await day.read();
  const deeds = day.deeds();
  const device = await thisDevice();
  const fills = await readFills(device);
  const elsewhere = await Promise.all(blocks.slice(0, limit).map(({ code, block }) => stateOf(device, () => blockEvents(code, block))));
  const replaced = new Map(batches.map(({ code, replaces }) => [replaces, code]));
  stage.show("lists", { after: deeds.length > 0, "none-in-hand": blocks.length + fills.length === 0, "no-batches": batches.length === 0, practice: mode === "practice" || batches.length === 0, more: Math.max(blocks.length, batches.length) > limit }, {
    fills: fills.map(({ id, name, at, elsewhere }) => row(fillLink(id), name, word("filling"), elsewhere || instantWords(at))),
    "in-hand": blocks.slice(0, limit).map(({ code, block, at }, n) =>
      row(blockLink(code, block), word("block-n", { n: block }), code, elsewhere[n] || instantWords(at))),
    after: deeds.map(({ block: { subject, issued }, step, at }) => {
      const [code, block] = blockOf(subject);
      return row(afterLink(subject), word("block-n", { n: block }), `${issued.formula?.name ?? ""} ${code}`, at > clock.now() ? `${inWords(step).title}, ${instantWords(at)}` : inWords(step).title);
    }),
    batches: batches.slice(0, limit).map(({ code, local, formulaName }) =>
      row(`#${encodeURIComponent(code)}`, code, [formulaName, whenWords(local)].filter(Boolean).join(", "), replaced.has(code) ? word("replaced-by", { code: replaced.get(code) ?? "" }) : "")),
  });
  /** @type {HTMLElement | null} */ (stage.find('[data-do="more"]'))?.setAttribute("data-limit", String(limit * 2));
}

/** Which other phone has it in hand, in words; "" where none has. Where this one isn't paired nothing is read. @param {string} device @param {() => Promise<TarewellEvent[]>} events */
const stateOf = async (device, events) => (device === "" ? "" : elsewhereWords(await untilRead(events), device));

/** The tanks that are being filled. @param {string} device Of this phone. */
async function readFills(device) {
  const ids = await untilRead(() => fillsInHand());
  return Promise.all(ids.map(async (id) => {
    const events = await untilRead(() => fillEvents(id));
    const deeds = events.filter(({ kind }) => kind !== "fill_issued").map(asDeed);
    return { id, name: events.find(({ kind }) => kind === "fill_issued")?.tank_name ?? id, at: events.at(-1)?.at ?? "", elsewhere: elsewhereWords(deeds, device) };
  }));
}

/** The blocks of one batch and how far each is. @param {Stage} stage @param {TarewellEvent} issued */
export async function showBlocks(stage, issued) {
  const code = issued.code ?? "";
  const events = await untilRead(() => eventsOfBatch(code));
  const device = await thisDevice();
  const rows = Array.from({ length: issued.blocks ?? 1 }, (_, index) => {
    const number = index + 1;
    const own = events.filter(({ subject }) => subject === `block:${code}/${number}`);
    return row(blockLink(code, number), word("block-n", { n: number }), issued.mould?.name ?? "", elsewhereWords(own, device) || blockState(issued, own));
  });
  const sheet = sheetAddress(stage, code);
  const formula = issued.formula?.name ?? "";
  const replacement = await untilRead(() => replacementOf(code), () => null);
  stage.show("blocks", { code, formula, mould: issued.mould?.name ?? "", sheet, replaced: replacement !== null, replacement: replacement ?? "" }, { blocks: rows });
}
