import { setFrozenHTML } from "../frame/frozen.mjs";
import { forgetWayBack } from "../frame/way_back.mjs";
import { whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { foldFill, readAgain, TOO_WARM, WAIT_AGAIN } from "../rules/fill.mjs";
import { newEvent } from "../store/events.mjs";
import { digits, unitSign } from "./keypad.mjs";
import { trainingLines } from "./ready.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { readings, waits } from "./view.mjs";

/** @import { FillAtScale } from "./fill.mjs" */

/** Its end comes to a load of the tank, which Python makes of the readings: until it runs a fill stays open, with all that is stored. */

/** @param {FillAtScale} block */
const slotsOfEnd = (block) => ({
  tank: block.called,
  person: block.person,
  ...block.answers.lacks("scale_record"),
  waiting: block.answers.waiting,
  before: block.linkBefore(block.fold.steps.length),
});

/** @param {FillAtScale} block */
function showClosing(block) {
  const [list, training] = [readings(block), trainingLines(block)];
  block.stage.show("fill-closing", {
    ...slotsOfEnd(block), again: block.isClosed, readings: list.length > 0, training: training.length > 0,
  }, { readings: list, training });
  waits(block);
}

/** @param {FillAtScale} block */
function showClosed(block) {
  const closed = /** @type {import("../rules/types.mjs").TarewellEvent} */ (block.fold.closed);
  const [list, training] = [readings(block), trainingLines(block)];
  const { tankUrl = "", strengthUrl = "" } = block.stage.root.dataset;
  const named = `#${encodeURIComponent(block.tank)}`;
  const lye = Boolean(block.issued.wanted_fraction) && Boolean(closed.load);
  block.stage.show("fill-closed", {
    ...slotsOfEnd(block),
    by: `${closed.person ?? ""}, ${whenWords(closed.local)}`,
    reason: closed.reason,
    "to-tank": tankUrl + named,
    "to-strength": lye && strengthUrl + named,
    readings: list.length > 0,
    training: training.length > 0,
  }, { readings: list, training });
  const frozen = block.stage.find("[data-frozen]");
  if (frozen && closed.html) setFrozenHTML(frozen, closed.html);
}

/** What stands at the end of a fill in place of a block's. @type {Record<string, (block: any) => void>} */
export const FILL_ENDS = { closing: showClosing, closed: showClosed };

/** @type {Record<string, (block: any) => void>} */
export const FILL_ASIDES = {
  "fill-stop": (/** @type {FillAtScale} */ block) => {
    block.stage.show("fill-stop", slotsOfEnd(block));
    keepReason(block);
    waits(block);
  },
  "fill-too-warm-why": (/** @type {FillAtScale} */ block) => {
    const { title, reading, unit, range } = /** @type {import("./block.mjs").Aside} */ (block.aside);
    block.stage.show("fill-too-warm-why", { title, reading, unit, range, person: block.person });
    keepReason(block);
  },
};

/**
 * Keeps a reading that is too warm, and what was decided about it, both or neither: a phone that dies between would go on.
 *
 * @param {FillAtScale} block @param {number} count @param {string} choice @param {string} reason
 */
async function keepTooWarm(block, count, choice, reason) {
  const { step, issued } = block;
  if (!step) return;
  const standing = foldFill(issued.steps ?? [], block.events).steps;
  const frozen = standing.find(({ key }) => key === step.key) ?? step;
  const steps = choice === WAIT_AGAIN ? readAgain(standing, frozen, issued.cooling ?? []) : [];
  const decided = block.event("decided", { step: step.key, choice, reason, text: word(choice), steps, replaced: {} });
  const read = { step: step.key, reading: digits(count, step.decimals ?? 0), unit: step.unit ?? "", note: TOO_WARM };
  if (await block.store("checked", read, [decided])) await block.advance(step.key);
}

/**
 * Closes a fill and puts its load into the tank's record, both or neither. What an earlier closing put there is taken back.
 *
 * @param {FillAtScale} block @param {string | null} reason Why it ends before its last step.
 */
async function close(block, reason) {
  const load = block.answers.now?.record?.closing;
  const problem = block.stage.find('[data-slot="told"]');
  if (!load) return problem && (problem.textContent = word("fill-waits"));
  const [subject, { person }] = [`contents:${block.tank}`, block];
  const loaded = load.parts ? newEvent("tank_loaded", subject, { ...load, fill: block.code, person }) : null;
  const taken = block.load ? newEvent("tank_taken_back", subject, { takes: block.load, person }) : null;
  const fields = { outcome: /** @type {"poured"} */ ("poured"), load: loaded?.id ?? null, html: block.answers.html("scale_record") ?? "", ...(reason ? { reason } : {}) };
  if (!(await block.store("closed", fields, [taken, loaded].flatMap((event) => event ?? [])))) return;
  forgetWayBack();
  await block.draft.clear();
  block.ask(null);
}

/** @type {Record<string, (block: any, button: HTMLElement) => Promise<unknown> | void>} */
export const FILL_DEEDS = {
  "fill-close": (/** @type {FillAtScale} */ block) => close(block, block.events.findLast(({ kind }) => kind === "closed")?.reason ?? null),
  "fill-wait": (/** @type {FillAtScale} */ block) => (block.asking ? keepTooWarm(block, block.asking.count, WAIT_AGAIN, "") : undefined),
  "fill-too-warm": (/** @type {FillAtScale} */ block) => {
    const { asking, step } = block;
    if (!asking || !step) return;
    const { title, decimals, unit, band_text: range } = step;
    block.ask({ name: "fill-too-warm-why", count: asking.count, title, range, reading: digits(asking.count, decimals ?? 0), unit: unitSign(unit ?? "") });
  },
  "fill-too-warm-because": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "" && block.aside) await keepTooWarm(block, block.aside.count, TOO_WARM, reason);
  },
  "fill-stop": (/** @type {FillAtScale} */ block) => block.ask({ name: "fill-stop" }),
  "fill-stopped": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "") await close(block, reason);
  },
};
