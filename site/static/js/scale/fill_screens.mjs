import { setFrozenHTML } from "../frame/frozen.mjs";
import { forgetWayBack } from "../frame/way_back.mjs";
import { whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { newEvent } from "../store/events.mjs";
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
};

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
  "fill-stop": (/** @type {FillAtScale} */ block) => block.ask({ name: "fill-stop" }),
  "fill-stopped": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "") await close(block, reason);
  },
};
