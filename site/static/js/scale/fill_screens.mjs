import { setFrozenHTML } from "../frame/frozen.mjs";
import { forgetWayBack } from "../frame/way_back.mjs";
import { instantWords, timeWords, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { BY_CLOCK, foldFill, NOT_READ, readAgain, readLater, TOO_WARM, UNREAD, UNREAD_WAIT, WAIT_AGAIN } from "../rules/fill.mjs";
import { counting, counts } from "../rules/readings.mjs";
import { clock, dayOn, localTime } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { spread } from "./countdown.mjs";
import { digits, unitSign } from "./keypad.mjs";
import { trainingLines } from "./ready.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { asRead, readings, waits } from "./view.mjs";

/** @import { FillAtScale } from "./fill.mjs" */
/** @import { Step, TarewellEvent } from "../rules/types.mjs" */

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

/** What its screens say of the temperature that is asked about. @param {FillAtScale} block */
function gateSlots(block) {
  const { gate, asking, openGate } = block;
  const done = openGate && block.fold.done.get(openGate.key);
  const count = done ? counts(counting(block.events, done).reading ?? "", gate?.decimals ?? 0) : (asking?.count ?? null);
  const reading = gate && count !== null ? asRead(gate, count) : "";
  return {
    title: gate?.title, range: gate?.band_text, reading, unit: unitSign(gate?.unit ?? ""), person: block.person,
    corrected: openGate && reading !== "", step: openGate && block.linkTo(openGate.key),
  };
}

/** Lye that was too warm for a portion that is not in yet, or that nobody read. @param {any} block */
export function showGate(block) {
  const slots = gateSlots(block);
  if (slots.reading) block.stage.show("fill-too-warm", slots);
  else showUnread(block);
}

/** Today by its hour alone. @param {number} instant [ms] */
const untilWords = (instant) => (dayOn(instant) === dayOn() ? timeWords(localTime(instant)) : instantWords(instant));

/** @param {FillAtScale} block */
function showUnread(block) {
  const { left, gate, openGate } = block;
  const waits = left !== null && left > 0;
  const over = left !== null && left <= 0 && !openGate;
  block.stage.show("fill-unread", {
    ...gateSlots(block),
    waits,
    over,
    held: !over,
    "by-clock": waits || over,
    unknown: !waits && !over,
    until: waits && untilWords(clock.now() + 1000 * left),
    time: spread(gate?.seconds ?? 0),
  });
}

/** @type {Record<string, (block: any) => void>} */
export const FILL_ASIDES = {
  "fill-stop": (/** @type {FillAtScale} */ block) => {
    block.stage.show("fill-stop", slotsOfEnd(block));
    keepReason(block);
    waits(block);
  },
  "fill-unread": showUnread,
  "fill-too-warm-why": (/** @type {FillAtScale} */ block) => {
    const { title, reading, unit, range } = /** @type {import("./block.mjs").Aside} */ (block.aside);
    block.stage.show("fill-too-warm-why", { title, reading, unit, range, person: block.person });
    keepReason(block);
  },
  "fill-unread-why": (/** @type {FillAtScale} */ block) => {
    block.stage.show("fill-unread-why", gateSlots(block));
    keepReason(block);
  },
};

/**
 * Keeps what was decided about lye that is too warm or unread, with its reading where that is not stored yet: all or nothing, for a
 * phone that dies between would go on.
 *
 * @param {FillAtScale} block @param {Partial<TarewellEvent>} read @param {string} choice @param {string} reason
 * @param {(steps: Step[], step: Step) => Step[]} [added] What comes behind it.
 */
async function keepDecision(block, read, choice, reason, added = () => []) {
  const { gate, issued } = block;
  if (!gate) return;
  const standing = foldFill(issued.steps ?? [], block.events).steps;
  const frozen = standing.find(({ key }) => key === gate.key) ?? gate;
  const steps = added(standing, frozen);
  const decided = { step: gate.key, choice, reason, text: word(choice), steps, replaced: {} };
  // A clock that was waited for runs from the tap.
  const wait = choice === UNREAD_WAIT ? steps.find(({ kind }) => kind === "timer") : undefined;
  const started = wait ? [block.event("timed", { step: wait.key, action: "started", seconds: wait.seconds ?? 0 })] : [];
  const stored = block.openGate
    ? await block.store("decided", decided, started)
    : await block.store("checked", { step: gate.key, ...read }, [block.event("decided", decided), ...started]);
  if (stored) await block.advance(gate.key);
}

/** @param {FillAtScale} block @param {number | null} count @param {string} choice @param {string} reason */
function keepTooWarm(block, count, choice, reason) {
  const { gate, issued } = block;
  const read = gate && count !== null ? { reading: digits(count, gate.decimals ?? 0), unit: gate.unit ?? "", note: TOO_WARM } : {};
  return keepDecision(block, read, choice, reason, (steps, step) => (choice === WAIT_AGAIN ? readAgain(steps, step, issued.cooling ?? []) : []));
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
  "fill-wait": (/** @type {FillAtScale} */ block) => keepTooWarm(block, block.asking?.count ?? null, WAIT_AGAIN, ""),
  "fill-too-warm": (/** @type {FillAtScale} */ block) => block.ask({ name: "fill-too-warm-why", count: block.asking?.count ?? null, ...gateSlots(block) }),
  "fill-too-warm-because": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "" && block.aside) await keepTooWarm(block, block.aside.count, TOO_WARM, reason);
  },
  "fill-unread-wait": async (/** @type {FillAtScale} */ block) => {
    const { left, issued } = block;
    // Its time may have ended while the question stood there.
    if (left === null || left <= 0) return block.show();
    await keepDecision(block, { note: NOT_READ }, UNREAD_WAIT, "", (steps, step) => readLater(steps, step, issued.cooling ?? [], left));
  },
  // What was passed without a reading is asked for once more.
  "fill-read": (/** @type {FillAtScale} */ block) =>
    block.openGate ? keepDecision(block, {}, UNREAD_WAIT, "", (steps, step) => readLater(steps, step, [], 0)) : block.ask(null),
  "fill-by-clock": async (/** @type {FillAtScale} */ block) => {
    const { left, step } = block;
    if (!step || block.openGate || left === null || left > 0) return block.show();
    if (await block.store("checked", { step: step.key, note: BY_CLOCK })) await block.advance(step.key);
  },
  "fill-unread": (/** @type {FillAtScale} */ block) => block.ask({ name: "fill-unread-why" }),
  "fill-unread-because": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "") await keepDecision(block, { note: NOT_READ }, UNREAD, reason);
  },
  "fill-stop": (/** @type {FillAtScale} */ block) => block.ask({ name: "fill-stop" }),
  "fill-stopped": async (/** @type {FillAtScale} */ block) => {
    const reason = reasonGiven(block);
    if (reason !== "") await close(block, reason);
  },
};
