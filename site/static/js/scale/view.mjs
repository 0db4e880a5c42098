import { timeWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { standingDecisions } from "../rules/block.mjs";
import { counting, counts, outside } from "../rules/readings.mjs";
import { digits, unitSign } from "./keypad.mjs";

/** @import { BlockFold, Step, TarewellEvent } from "../rules/types.mjs" */

/**
 * The done step whose counting reading lies outside its band and about which nothing has been decided since.
 *
 * @param {BlockFold} fold @param {TarewellEvent[]} events @returns {string | null}
 */
export function pendingKey(fold, events) {
  const place = new Map(events.map(({ id }, index) => [id, index]));
  const decisions = standingDecisions(events);
  for (const step of fold.steps) {
    const event = fold.done.get(step.key);
    if (event?.kind !== "weighed" || DISPLAY_GOES_ON.some((prefix) => fold.done.get(prefix + step.key)?.kind === "weighed")) continue;
    const last = counting(events, event);
    if (!outside(event, last.reading ?? "")) continue;
    const since = place.get(last.id) ?? -1;
    if (!decisions.some(({ id, step: about }) => about === step.key && Number(place.get(id)) > since)) return step.key;
  }
  return null;
}

/** The keys of the steps that pour on from one, or ladle back, begin so: the display goes on, and its reading takes the other's place. */
const DISPLAY_GOES_ON = ["on:", "out:"];

/** "on:out:oil:0" -> "oil:0": the pour that such steps began with. @param {string} key @returns {string} */
function firstOf(key) {
  const prefix = DISPLAY_GOES_ON.find((each) => key.startsWith(each));
  return prefix === undefined ? key : firstOf(key.slice(prefix.length));
}

/** @param {TarewellEvent[]} events @param {TarewellEvent} event "16.34 kg" as it counts, "" where nothing was read */
export function readingText(events, event) {
  const { reading, unit } = counting(events, event);
  return reading === undefined || reading === "" ? "" : `${reading} ${unitSign(unit ?? "")}`;
}

/** The weighings that are done, in the order of time, which `done` has; a choice may put a step in before others that are done. @param {BlockFold} fold */
export const weighings = (fold) => [...fold.done].flatMap(([key, event]) => {
  const step = fold.steps.find((each) => each.key === key);
  return step && event.kind === "weighed" ? [{ step, event }] : [];
});

const WHOLE = /\.0+$/;

/** @param {Step} step "24–38" */
export function rangeText(step) {
  const { low, high, decimals } = step;
  if (low === null || high === null) return "";
  const [from, to] = [digits(low, decimals ?? 0), digits(high, decimals ?? 0)];
  // Whole degrees are set and read as such.
  return WHOLE.test(from) && WHOLE.test(to) ? `${from.replace(WHOLE, "")}–${to.replace(WHOLE, "")}` : `${from}–${to}`;
}

/** What was typed, as it is shown: whole degrees as such. @param {Step} step @param {number} count */
export const asRead = ({ kind, decimals }, count) =>
  kind === "temperature" ? digits(count, decimals ?? 0).replace(WHOLE, "") : digits(count, decimals ?? 0);

/** @param {BlockFold} fold @param {Step} step Whether the display goes on counting with what was there before. */
export const isGross = (fold, step) =>
  step.kind === "weigh" && step.gross_text !== null && !fold.steps.some(({ key }) => key.startsWith("check:tare"));

/** What the display shows at its target by plan, untared. Sheets from before this count was frozen have its text alone. @param {Step} step */
const grossOf = ({ gross, gross_text, decimals }) => gross ?? counts(gross_text ?? "", decimals ?? 0);

/**
 * The step as the display shows it. Without tare all its counts stand higher by what is on the scale: by the plan, and by
 * how far the reading before ended from its plan.
 *
 * @param {BlockFold} fold @param {TarewellEvent[]} events @param {Step} step @returns {Step}
 */
export function onDisplay(fold, events, step) {
  const decimals = step.decimals ?? 0;
  const planned = grossOf(step);
  const { target, low, high } = step;
  if (!isGross(fold, step) || planned === null || target === null || low === null || high === null) return step;
  const last = weighings(fold).findLast((done) =>
    done.event.mode === "gross" && done.step.gross_text !== null && firstOf(done.step.key) !== firstOf(step.key));
  const ended = last ? counts(counting(events, last.event).reading ?? "", decimals) : null;
  const meant = last ? grossOf(last.step) : null;
  const on = planned - target + (ended === null || meant === null ? 0 : ended - meant);
  const text = (/** @type {number} */ count) => digits(count, decimals);
  const unit = unitSign(step.unit ?? "");
  return {
    ...step,
    target: target + on,
    low: low + on,
    high: high + on,
    target_text: text(target + on),
    band_text: word("band", { low: text(low + on), high: `${text(high + on)} ${unit}` }),
    close_valve: step.close_valve === null ? null : step.close_valve + on,
    close_valve_text: step.close_valve === null ? null : word("close-valve-at", { at: `${text(step.close_valve + on)} ${unit}` }),
    questions: step.questions.map((question) => ({ ...question, low: question.low + on, high: question.high + on })),
  };
}

/**
 * Whether a display can't show so much. Its most is of all that stands on the scale: it moves with no tare, unlike a target.
 * A step frozen without one takes every reading.
 *
 * @param {Step} step @param {number} count
 */
export const aboveMost = ({ most }, count) => typeof most === "number" && count > most;

/** With more readings in its band than this there are no keys for them: they are typed. */
const MOST_OFFERED = 7;

/** The readings of a band as the display can show them, where they are few. Lye is always typed, and twice. @param {Step} step @returns {number[]} */
export function offeredCounts({ kind, twice, target, low, high, division }) {
  if (kind === "measure") return target === null ? [] : [target];
  if (kind !== "weigh" || twice || low === null || high === null || !division) return [];
  const first = Math.ceil(low / division);
  const many = Math.floor(high / division) - first + 1;
  return many > MOST_OFFERED ? [] : Array.from({ length: many }, (_, n) => (first + n) * division);
}

/** Where words and keypad find room on one screen: no small phone, none on its side, no text of twice the size. */
const ROOMY = "(min-height: 44em)";

/**
 * Whether a step's keypad is there from the start, beside its words: where no key takes its reading, that of a lye too, or where
 * its scale speaks.
 *
 * @param {Step} step @param {boolean} speaks
 */
export const isTypedAtOnce = (step, speaks) =>
  (step.kind === "measure" && step.target === null) ||
  ((step.kind === "temperature" || (step.kind === "weigh" && (speaks || offeredCounts(step).length === 0))) && matchMedia(ROOMY).matches);

/** When a timer was started. @param {TarewellEvent[]} events @param {string} key */
export const startOf = (events, key) =>
  events.find(({ kind, step, action }) => kind === "timed" && step === key && action === "started");

/** Text lines as list items. @param {string[]} texts */
export const items = (texts) =>
  texts.map((text) => {
    const item = document.createElement("li");
    item.textContent = text;
    return item;
  });

/** The last three weighings, the newest first. @param {{fold: BlockFold, events: TarewellEvent[]}} block */
export const lastReadings = (block) =>
  items(weighings(block.fold).slice(-3).reverse().map(({ step, event }) => `${step.title}: ${readingText(block.events, event)}`));

/** "15.74 kg, Ana Quill, 2:30 PM" @param {TarewellEvent[]} events @param {TarewellEvent} event */
export const line = (events, event) =>
  [readingText(events, event), event.person, timeWords(event.local)].filter(Boolean).join(", ");

/** All weighings, as lists tell them. @param {{fold: BlockFold, events: TarewellEvent[]}} block */
export const readings = (block) => items(weighings(block.fold).map(({ step, event }) => `${step.title}: ${line(block.events, event)}`));

/** Marks the screen as one that the answer changes as a whole. @param {import("./block.mjs").BlockAtScale} block */
export function waits({ answers, stage }) {
  if (answers.waiting) stage.place.firstElementChild?.setAttribute("data-waits", "");
}

/**
 * Why an answer has no such region: there is no calculation, the app made a mistake, or something is to be put right. Only
 * the first is called "off"; nothing is lacking while the answer is still on its way.
 *
 * @param {{html?: Record<string, string>, fault?: string, problems?: {message: string, remedy: string}[]} | null} reply
 * @param {string} region
 * @param {string} whyOff
 */
export function lack(reply, region, whyOff) {
  const lacking = !reply?.html?.[region] && (whyOff !== "" || reply !== null);
  const problem = reply?.problems?.[0];
  return {
    lacking,
    off: lacking && whyOff !== "",
    fault: lacking && !whyOff && reply?.fault !== undefined,
    problem: lacking && !whyOff && problem ? `${problem.message} ${problem.remedy}` : "",
  };
}
