import { word } from "../frame/words.mjs";
import { counts } from "../rules/readings.mjs";
import { correctionOf } from "./draft.mjs";
import { digits, keyOf, pointed, press, readBack, unitSign } from "./keypad.mjs";
import { heardNow, heardWith, isTare, noticedAt, speaks, stepHeard } from "./live.mjs";
import { reasonGiven } from "./reasons.mjs";
import { sayStep, stepSlots, weighSlots } from "./slots.mjs";
import { aboveMost, asRead, isGross, isTypedAtOnce, lastReadings, offeredCounts, rangeText } from "./view.mjs";

/** @import { Step } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** More characters than stand beside their unit at full size. */
const LONG = 7;

const NET = /** @type {const} */ ("net");
const GROSS = /** @type {const} */ ("gross");

/** The draft's name for a reading of this step, or for its correction. @param {BlockAtScale} block @param {Step} step */
const draftName = (block, step) => (block.aside?.name === "correct" ? correctionOf(step.key) : step.key);

/**
 * The keypad, or the question about what was typed on it.
 *
 * @param {BlockAtScale} block @param {Step} step
 */
export function showEntry(block, step) {
  const { draft, stage, aside } = block;
  const correcting = aside?.name === "correct";
  const atOnce = !correcting && isTypedAtOnce(step, speaks(block, step));
  // Where the keypad is there unasked, the first digit begins: a tab that only looks writes nothing.
  if (!atOnce) draft.begin(draftName(block, step));
  const unit = unitSign(step.unit ?? "");
  const aims = {
    title: step.title,
    unit,
    aim: step.kind === "weigh" ? `${step.target_text} ${unit}` : "",
    band: step.band_text,
    // Of one end alone the words say which it is.
    range: step.kind === "temperature" && (rangeText(step) ? `${rangeText(step)} ${unit}` : step.band_text),
  };
  const asked = block.asking;
  if (asked) {
    stage.show(asked.screen ?? "question", { ...aims, typed: true, text: asked.text, reading: asRead(step, asked.count) });
    return;
  }
  const last = lastReadings(block);
  const again = typedHere(block, step).first !== "";
  // Nor is the target said aloud before a second reading.
  if (atOnce && !again) sayStep(step);
  stage.show("keypad", {
    ...(atOnce ? { ...stepSlots(block, step), ...(step.kind === "weigh" ? weighSlots(block, step) : {}) } : {}),
    ...aims,
    // A second reading is read afresh, not copied from what stands above.
    band: step.kind === "weigh" && !again && !correcting && step.band_text,
    meant: !again && !correcting && step.kind === "weigh" && step.target_text,
    "meant-range": !correcting && aims.range && rangeText(step),
    words: atOnce,
    again,
    differ: block.differ,
    correcting,
    "may-leave": !atOnce,
    "may-skip": step.kind === "temperature" && !correcting,
    "may-pass": step.kind === "measure" && step.scale !== null && !correcting,
    shows: step.scale !== null || step.kind !== "measure",
    counted: step.scale === null && step.kind === "measure",
    last: last.length > 0,
  }, { last });
  showTyped(block, step);
  intoView(block);
  markMore(block);
}

/** Says that words go on below what is in sight: a line cut there may read as whole. @param {BlockAtScale} block */
function markMore({ stage }) {
  const [words, mark] = [stage.find("[data-words]"), stage.find("[data-words-more]")];
  if (words && mark) mark.hidden = words.scrollTop + words.clientHeight >= words.scrollHeight - 2;
}

/** On a phone digits, keys and button fill the screen just so. @param {BlockAtScale} block */
const intoView = ({ stage }) =>
  stage.find(".typing")?.scrollIntoView({ block: "start" });

/** @param {BlockAtScale} block @param {Step} step */
function showTyped(block, step) {
  const problem = block.stage.find("[data-typed-problem]");
  if (problem) problem.textContent = "";
  showDigits(block, step);
  showHeard(block);
}

/** What is typed, else what the scale shows: who types takes over from it, until the digits are deleted. @param {BlockAtScale} block @param {Step} step */
function showDigits(block, step) {
  const { stage } = block;
  const place = stage.find("[data-typed]");
  const back = stage.find("[data-read-back]");
  const meant = stage.find("[data-meant]");
  const typed = asShown(typedHere(block, step).typed, step);
  const live = typed === "" ? heardNow(block)?.shown : undefined;
  const text = live?.text ? live.text : typed;
  say(place, text);
  if (meant) meant.hidden = text !== "";
  meant?.toggleAttribute("data-long", (meant.textContent ?? "").length > LONG);
  place?.parentElement?.toggleAttribute("data-begun", text !== "");
  // Of a display that runs nothing is read back: a voice would never end.
  const count = live ? live.count : counts(typed, step.decimals ?? 0);
  say(back, count === null ? "" : readBack(digits(count, step.decimals ?? 0), step.unit ?? ""));
}

/** Only what has changed is put there: a voice would say all of it again. @param {HTMLElement | null} place @param {string} text */
function say(place, text) {
  if (place && place.textContent !== text) place.textContent = text;
}

/**
 * What the scale of the step in hand shows just now, and what is to be said of it: called whenever it has spoken, and when it
 * falls silent. Digits that it fills stay a proposal until the button is tapped.
 *
 * @param {BlockAtScale} block
 */
export function showHeard(block) {
  const line = block.stage.find("[data-heard-line]");
  const heard = heardNow(block);
  if (!line) return;
  const { text, amiss } = heard ? heardWords(block, heard) : { text: "", amiss: false };
  // What was said about a tap held for what stood there then.
  const problem = block.stage.find("[data-typed-problem]");
  if (problem && line.textContent !== text) problem.textContent = "";
  say(line, text);
  line.hidden = text === "";
  line.toggleAttribute("data-amiss", amiss);
  block.stage.find(".typing")?.toggleAttribute("data-speaks", text !== "");
}

/** Whether a step's screen becomes the keypad with its words now that its scale is heard. @param {BlockAtScale} block */
function comesUp(block) {
  const { step, stage, aside, asking, looking } = block;
  if (!step || aside || asking || looking !== null || !isTypedAtOnce(step, speaks(block, step))) return false;
  return stage.place.dataset.shown === "weigh" || (stage.find("[data-typed]") !== null && !stage.find("[data-words]"));
}

/** A scale has spoken, or has fallen silent. @param {BlockAtScale} block */
export function heardAnew(block) {
  if (comesUp(block)) return block.show();
  const step = typedFor(block);
  if (step && block.stage.find("[data-typed]")) showDigits(block, step);
  showHeard(block);
}

/**
 * What is amiss comes first; else where the digits on the keypad come from, or what the display shows beside those that are typed.
 *
 * @param {BlockAtScale} block @param {NonNullable<ReturnType<typeof heardNow>>} heard @returns {{text: string, amiss: boolean}}
 */
function heardWords(block, { reading, shown }) {
  const step = /** @type {Step} */ (stepHeard(block));
  if (isTare(step)) return tareWords(reading);
  const unit = unitSign(step.unit ?? "");
  if (shown.text === "" || shown.mark === "below") {
    return { text: word(`heard-${shown.mark}`, { text: shown.text, heard: unitSign(shown.unit), unit }), amiss: true };
  }
  const noticed = noticedAt(block);
  if (noticed) return { text: word(`slip-${noticed.slip}`, { at: `${digits(noticed.at, step.decimals ?? 0)} ${unit}` }), amiss: true };
  const fills = block.stage.find("[data-typed]") && typedHere(block, step).typed === "";
  const text = fills ? word(shown.count === 0 ? "heard-zero" : `heard-${shown.mark}`) : word("heard-runs", { text: `${shown.text} ${unit}` });
  return { text, amiss: false };
}

/** At a step that ends at zero. @param {import("../rules/heard.mjs").Reading} reading */
function tareWords({ count, unit, zero, status }) {
  if (count === null) return { text: word(`heard-${status}`), amiss: true };
  const key = zero ? "heard-at-zero" : status === "moving" ? "heard-runs" : "heard-not-at-zero";
  return { text: word(key, { text: `${count} ${unitSign(unit ?? "")}` }), amiss: key === "heard-not-at-zero" };
}

/** @param {BlockAtScale} block @param {Step} step */
const typedHere = (block, step) => block.draft.of(draftName(block, step));

/** A scale's display always shows its decimals; a thermometer is read to the degree or finer. @param {string} typed @param {Step} step */
const asShown = (typed, { kind, decimals }) => (kind !== "temperature" ? pointed(typed, decimals ?? 0) : typed);

/** @param {BlockAtScale} block @returns {Step | null} The step whose digits are being typed. */
const typedFor = (block) =>
  block.aside?.name === "correct" ? askedStep(block, block.aside.step) : block.step;

/**
 * A done step as it was asked for: its target may have followed from what was weighed before.
 *
 * @param {BlockAtScale} block @param {string} key @returns {Step | null}
 */
export function askedStep(block, key) {
  const step = block.stepOf(key);
  const asked = block.fold.done.get(key)?.asked;
  if (!step || !asked) return step;
  const { target, low, high, decimals, unit } = asked;
  const text = (/** @type {number} */ count) => digits(count, decimals);
  const band_text = word("band", { low: text(low), high: `${text(high)} ${unitSign(unit)}` });
  return { ...step, ...asked, target_text: text(target), band_text, questions: target === step.target ? step.questions : [] };
}

/** @param {BlockAtScale} block @param {string} key */
export function typeKey(block, key) {
  const step = typedFor(block);
  if (!step || block.stage.locked || !block.stage.find("[data-typed]")) return;
  const name = draftName(block, step);
  block.draft.begin(name);
  block.draft.set(name, { typed: press(block.draft.of(name).typed, key, step.decimals ?? 0) });
  showTyped(block, step);
}

/** A keyboard that hangs on the device types too, and a device turned round shows all keys again. @param {() => BlockAtScale | null} current */
export function watchTyping(current) {
  addEventListener("resize", () => {
    const block = current();
    if (!block?.stage.find("[data-typed]")) return;
    intoView(block);
    markMore(block);
  });
  // A scroll inside the page is heard on its way down alone.
  document.addEventListener("scroll", () => {
    const block = current();
    if (block) markMore(block);
  }, true);
  document.addEventListener("keydown", (event) => {
    const block = current();
    if (!block || event.target instanceof HTMLInputElement) return;
    const key = keyOf(event);
    if (key) typeKey(block, key);
    // On a button or a link the key presses that.
    const free = !(event.target instanceof Element && event.target.closest("button, a, summary"));
    if (event.key === "Enter" && free && !event.repeat) block.stage.find('[data-do="reading"]')?.click();
  });
}

/** What is typed for the step in hand, as a whole count of its last digit. @param {BlockAtScale} block */
export function typedCount(block) {
  const { step } = block;
  return step && counts(asShown(typedHere(block, step).typed, step), step.decimals ?? 0);
}

/** @param {BlockAtScale} block @param {string} key @param {Record<string, string>} [parts] */
function complain(block, key, parts) {
  const place = block.stage.find("[data-typed-problem]");
  if (place) place.textContent = word(key, parts);
}

/**
 * "The display shows this": looked over, asked back, typed again where that is wanted; then stored.
 *
 * @param {BlockAtScale} block
 */
export async function takeReading(block) {
  const step = typedFor(block);
  if (!step) return;
  const { draft } = block;
  const name = draftName(block, step);
  draft.begin(name);
  const { typed, first } = draft.of(name);
  const decimals = step.decimals ?? 0;
  const heard = typed === "" ? heardNow(block)?.shown : undefined;
  if (heard?.text && heard.count === null) return complain(block, heard.mark === "moving" ? "heard-still-moving" : "type-the-display");
  const count = heard ? heard.count : counts(asShown(typed, step), decimals);
  if (count === null) return complain(block, "type-the-display");
  if (aboveMost(step, count)) {
    return complain(block, "above-most", { most: `${digits(step.most ?? 0, decimals)} ${unitSign(step.unit ?? "")}` });
  }
  block.differ = false;
  // Typed twice is against slips of the hand: what the scale itself has said twice is taken at once.
  if (step.twice && first === "" && !heard) {
    draft.set(name, { first: typed, typed: "" });
    return showEntry(block, step);
  }
  if (step.twice && first !== "" && counts(asShown(first, step), decimals) !== count) {
    block.differ = true;
    draft.set(name, { first: "", typed: "" });
    return showEntry(block, step);
  }
  await askOrStore(block, step, count);
}

/** @param {BlockAtScale} block @param {Step} step @param {number} count */
async function askOrStore(block, step, count) {
  const found = (block.aside ? null : block.questionFirst(step, count)) ?? questionAbout(step, count) ?? questionByScale(block, count);
  block.asking = found && { ...found, heard: heardWith(block) };
  if (block.asking) return showEntry(block, step);
  await storeReading(block, step, count, null, heardWith(block));
}

/** A reading of the band, tapped as the display shows it. @param {BlockAtScale} block @param {number} count */
export async function takeShown(block, count) {
  const { step } = block;
  if (!step || !offeredCounts(step).includes(count)) return;
  await askOrStore(block, step, count);
}

/**
 * What was typed beside what the scale says.
 *
 * @param {BlockAtScale} block @param {number} count @returns {BlockAtScale["asking"]}
 */
function questionByScale(block, count) {
  const { step } = block;
  const says = heardNow(block)?.shown.count ?? count;
  if (!step || says === count) return null;
  return { code: "scale-differs", text: word("scale-differs", { heard: `${digits(says, step.decimals ?? 0)} ${unitSign(step.unit ?? "")}` }), count };
}

/** @param {Step} step @param {number} count */
function questionAbout(step, count) {
  const { questions, low, high, division } = step;
  const found = (questions ?? []).find((question) => count >= question.low && count <= question.high);
  if (found) return { code: found.code, text: found.text, count };
  if (step.kind === "weigh" && division && count % division !== 0) {
    return { code: "between-divisions", text: word("between-divisions", { division: divisionText(step) }), count };
  }
  const off = (low !== null && count < low) || (high !== null && count > high);
  return step.kind === "temperature" && off ? { code: "outside-range", text: word("outside-range"), count } : null;
}

/** @param {Step} step */
const divisionText = ({ division, decimals, unit }) => `${digits(division ?? 0, decimals ?? 0)} ${unitSign(unit ?? "")}`;

/** "Yes, the display shows this" @param {BlockAtScale} block */
export async function affirm(block) {
  const step = typedFor(block);
  const asked = block.asking;
  if (!step || !asked) return;
  await storeReading(block, step, asked.count, asked.code, asked.heard ?? null);
}

/** "Type it again" @param {BlockAtScale} block */
export function typeAgain(block) {
  const step = typedFor(block);
  block.asking = null;
  if (!step) return;
  block.draft.set(draftName(block, step), { typed: "", first: "" });
  showEntry(block, step);
}

/** "Correct it" @param {BlockAtScale} block */
export async function correctBecause(block) {
  const reason = reasonGiven(block);
  const { step, reading, unit } = /** @type {import("./block.mjs").Aside} */ (block.aside);
  const event = block.fold.done.get(step);
  if (reason === "" || !event) return;
  if (await block.store("corrected", { corrects: event.id, reading, unit, reason })) await block.advance(step);
}

/** @param {BlockAtScale} block @param {Step} step @param {number} count @param {string | null} question @param {import("../rules/types.mjs").Heard | null} heard */
async function storeReading(block, step, count, question, heard) {
  const reading = digits(count, step.decimals ?? 0);
  const unit = step.unit ?? "";
  if (block.aside?.name === "correct") {
    return block.ask({ name: "why-corrected", step: step.key, title: step.title, reading, unit });
  } else if (step.kind === "measure") {
    // Bars are not set aside without a reason.
    if (step.target === 0 && count > 0) return block.ask({ name: "set-aside", reading, unit });
    if (!(await block.store("measured", { step: step.key, reading, unit, ...(heard && { heard }) }))) return;
  } else if (step.kind === "temperature") {
    const note = question === null ? {} : { note: question };
    if (!(await block.store("checked", { step: step.key, reading, unit, ...note }))) return;
  } else {
    const { target, low, high, decimals, division } = step;
    const asked = { target: target ?? 0, low: low ?? 0, high: high ?? 0, decimals: decimals ?? 0, unit, division: division ?? 1 };
    const fields = { step: step.key, reading, unit, lot: block.lotFor(step), asked, question, mode: isGross(block.fold, step) ? GROSS : NET, ...(heard && { heard }) };
    if (!(await block.store("weighed", fields))) return;
  }
  await block.advance(step.key);
}
