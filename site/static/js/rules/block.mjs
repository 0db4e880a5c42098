import { closingOf, isStale } from "./closing.mjs";
import { inOrder } from "./fold.mjs";
import { BLOCK_EVENTS } from "./kinds.mjs";

/** @import { BlockEntry, BlockFold, Step, TarewellEvent } from "./types.mjs" */

/** The event that completes a step of each kind: step -> event. @type {Map<string, string>} */
const COMPLETES = new Map(
  Object.entries(BLOCK_EVENTS).flatMap(([kind, { completes = [] }]) => completes.map((step) => /** @type {const} */ ([step, kind]))));

/** Note of a weighing that what was weighed before left nothing to pour for. */
export const NOTHING_LEFT = "nothing-left";

/** What was chosen about an amount that goes by the oils, where those ended beside their plan; about no slip, and so without a reason. */
export const SCALED = "with-oils";
export const AS_PLANNED = "as-planned";

/** @param {string} code @param {number} block */
export const blockSubject = (code, block) => `block:${code}/${block}`;

/** "block:QM-261125-1/2" -> ["QM-261125-1", 2] @param {string} subject @returns {[string, number]} */
export function blockOf(subject) {
  const slash = subject.lastIndexOf("/");
  return [subject.slice("block:".length, slash), Number(subject.slice(slash + 1))];
}

/**
 * A block as its events leave it. Pure and total: their order and doubles change nothing, and what belongs to no step is
 * passed over. calc/block/events.py follows the same rules; both are asked the stories of tests/fixtures/stories.
 *
 * - A step is done by the first event that completes its kind. Of two phones' events for one step the other is kept beside it.
 * - A correction replaces the reading of the event that it names. It erases nothing, and moves no step.
 * - A decision replaces steps, and puts others in behind the one it is about: also before steps that are done already.
 *   Weighings are summed up in the order of time, not of steps.
 * - A decision falls when a reading that it rests on is corrected before any of its own steps is done.
 *
 * From the first tap to the last the page needs no Python: words, and bands in whole counts, stand in the frozen steps, and
 * scripts compare counts. Python adds the superfat so far, the exact top-up, the ways back after a slip, each reckoned of the
 * block as it stands once decided, and the closing record.
 *
 * @param {Step[]} frozen The steps of the issued sheet.
 * @param {Iterable<TarewellEvent>} events Of this block.
 * @returns {BlockFold}
 */
export function foldBlock(frozen, events) {
  const ordered = inOrder(events);
  const steps = standingDecisions(ordered).reduce(decided, frozen);
  const kinds = new Map(steps.map((step) => [step.key, COMPLETES.get(step.kind)]));
  /** @type {BlockFold["done"]} */
  const done = new Map();
  /** @type {BlockFold["again"]} */
  const again = new Map();
  for (const event of ordered) {
    const key = event.step ?? "";
    const nothingLeft = kinds.get(key) === "weighed" && event.note === NOTHING_LEFT;
    if ((kinds.get(key) !== event.kind && !nothingLeft) || (event.kind === "timed" && event.action !== "ended")) continue;
    if (done.has(key)) again.set(key, [...(again.get(key) ?? []), event]);
    else done.set(key, event);
  }
  const index = steps.findIndex(({ key }) => !done.has(key));
  const closed = closingOf(ordered);
  const ended = ordered.find(({ kind }) => kind === "ended") ?? null;
  return { steps, index: index < 0 ? steps.length : index, done, again, closed, stale: isStale(ordered), ended };
}

/**
 * The work after the pour as its events leave it. What was decided at the scale put steps into the first part alone.
 *
 * @param {Step[]} after Of the issued sheet. @param {TarewellEvent[]} events All of the block.
 */
export const foldAfter = (after, events) => foldBlock(after, events.filter(({ kind }) => kind !== "decided"));

/**
 * The decisions but for those that a correction has overtaken: of a reading that one rested on, before any of the steps
 * that it put in or changed was done.
 *
 * @param {TarewellEvent[]} ordered
 */
export function standingDecisions(ordered) {
  return ordered.filter((decision, n) => {
    if (decision.kind !== "decided") return false;
    const weighed = new Set(ordered.slice(0, n).filter(({ kind }) => kind === "weighed").map(({ id }) => id));
    const changed = new Set([...(decision.steps ?? []).map(({ key }) => key), ...Object.keys(decision.replaced ?? {})]);
    const first = ordered.slice(n + 1).find(
      ({ kind, corrects, step }) => kind !== "decided" && (weighed.has(corrects ?? "") || changed.has(step ?? "")));
    return changed.size === 0 || first?.kind !== "corrected";
  });
}

/** @param {Step[]} steps @param {TarewellEvent} decision @returns {Step[]} */
function decided(steps, { step: about, replaced, steps: added }) {
  const instead = new Map(Object.entries(replaced ?? {}));
  const standing = steps.map((step) => instead.get(step.key) ?? step);
  const keys = new Set(standing.map(({ key }) => key));
  const at = standing.findIndex(({ key }) => key === about);
  standing.splice(at < 0 ? standing.length : at + 1, 0, ...(added ?? []).filter(({ key }) => !keys.has(key)));
  return standing;
}

/** What lists need of a block in hand. @param {TarewellEvent} event Its newest. @returns {BlockEntry} */
export function blockEntry({ subject, at }) {
  const [code, block] = blockOf(subject);
  return { subject, code, block, at };
}
