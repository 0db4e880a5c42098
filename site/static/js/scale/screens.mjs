import { setFrozenHTML } from "../frame/frozen.mjs";
import { fill, screen } from "../frame/stage.mjs";
import { latelyWords, whenWords } from "../frame/when.mjs";
import { word } from "../frame/words.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { AS_PLANNED, SCALED } from "../rules/block.mjs";
import { weighedTwice } from "../rules/in_hand_elsewhere.mjs";
import { checksTogether, doneTogether, startsWith } from "../rules/joined.mjs";
import { correctionsOf, counting, counts, outside } from "../rules/readings.mjs";
import { AFTER_ASIDES, nextAfter, showAfter } from "./after.mjs";
import { atPhone } from "../shop/elsewhere.mjs";
import { showChecks } from "./checks.mjs";
import { sayAloud } from "./comforts.mjs";
import { showTimer, spread } from "./countdown.mjs";
import { askedStep, showEntry, showHeard } from "./entry.mjs";
import { FILL_ASIDES, showGate } from "./fill_screens.mjs";
import { digits, unitSign } from "./keypad.mjs";
import { sheetAddress } from "./lists.mjs";
import { speaks } from "./live.mjs";
import { lotChoices } from "./lots.mjs";
import { asksReady, isBarred, showBarred, showReady, trainingLines } from "./ready.mjs";
import { keepReason } from "./reasons.mjs";
import { hasSerial } from "./serial.mjs";
import { lyeBehindTare, sayStep, stepSlots, weighSlots } from "./slots.mjs";
import { isTypedAtOnce, items, lastReadings, line, offeredCounts, readings, startOf, waits, weighings } from "./view.mjs";

/** @import { Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { Aside, BlockAtScale } from "./block.mjs" */

/** Shows whatever is to be shown of a block now. @param {BlockAtScale} block */
export function render(block) {
  head(block);
  tellTwice(block);
  const { aside, looking, fold, pending, step } = block;
  const looked = looking === null ? undefined : fold.steps.find(({ key }) => key === looking);
  if (aside) ASIDES[aside.name]?.(block);
  else if (looked && fold.done.has(looked.key)) showDone(block, looked);
  else if (fold.closed && fold.stale && !block.after) showClosing(block);
  else if (fold.closed && !block.after) (block.ends.closed ?? showEnd)(block);
  else if (block.elsewhere) showElsewhere(block, block.elsewhere);
  else if (!block.person && block.hold.held) showPerson(block);
  else if (block.after) showAfter(block);
  else if (asksReady(block)) showReady(block);
  else if (block.openGate) showGate(block);
  else if (pending) showRecovery(block, pending);
  else if (!step) (block.ends.closing ?? showClosing)(block);
  else if (isBarred(block, step)) showBarred(block);
  else if (checksTogether(fold).length > 0) showChecks(block);
  else if (block.draft.begun(step.key) && !block.peeking) showEntry(block, step);
  else if (block.answers.asked(step.key)) showAsked(block, step);
  else if (isTypedAtOnce(step, speaks(block, step))) showEntry(block, step);
  else showStep(block, step);
  block.answers.fill();
  showHeard(block);
}

/** @param {BlockAtScale} block */
function head({ issued, number, called, code, fold, stage, person, hold, all, name, pending, after, step }) {
  const { root } = stage;
  const of = fold.steps.length;
  const at = pending === null ? fold.index : fold.steps.findIndex(({ key }) => key === pending);
  const progress = (fold.closed && !after) || at >= of ? "" : word("step-of", { n: Math.min(at + 1, of), of });
  const slots = { block: number, mould: issued.mould?.name ?? "", tank: called, code: name["of-block"] ? code : "", progress, person: person || word("nobody-yet") };
  for (const part of ["[data-floor-head]", "[data-floor-tools]", "[data-floor-elsewhere]"]) {
    const place = /** @type {HTMLElement} */ (root.querySelector(part));
    place.hidden = false;
    fill(place, { ...slots, blocks: all, scale: step?.scale });
    for (const part of place.querySelectorAll(/** @type {"p"} */ ("[data-if]"))) part.hidden = !name[part.dataset.if ?? ""];
  }
  /** @type {HTMLElement} */ (root.querySelector("[data-floor-elsewhere]")).hidden = hold.held;
  /** @type {HTMLElement} */ (root.querySelector("[data-serial]")).hidden = !hasSerial() || !step?.scale;
}

/** Two phones weighed the same, each without the other: it stands above every screen of the block until its record is closed. @param {BlockAtScale} block */
function tellTwice(block) {
  const { fold, after } = block;
  const place = /** @type {HTMLElement} */ (block.stage.root.querySelector("[data-floor-twice]"));
  const twice = fold.closed || after ? [] : weighedTwice(fold);
  place.hidden = twice.length === 0;
  place.querySelector("ul")?.replaceChildren(...twice.map((key) =>
    screen("twice", { target: block.linkTo(key), title: fold.steps.find((step) => step.key === key)?.title })));
}

/** @param {BlockAtScale} block @param {Step} step */
function showStep(block, step) {
  const slots = stepSlots(block, step);
  sayStep(step);
  const { fold, events } = block;
  const together = doneTogether(fold);
  const last = startsWith(fold, (key) => startOf(events, key) !== undefined);
  const joined = together.map((each) => screen("joined-step", { title: each.title, how: each.how, stop: each.stop }));
  if (last) joined.push(screen("starts-last", { title: last.title, span: spread(last.seconds ?? 0) }));
  const more = {
    ...slots,
    joined: joined.length > 0,
    alone: joined.length === 0,
    following: fold.steps[fold.index + 1 + together.length + (last ? 1 : 0)]?.title,
  };
  if (step.kind === "timer") return showTimer(block, step, more, joined);
  if (step.kind !== "weigh") {
    // Before the first step, and where the eyewash is checked; elsewhere it would stand in the way of digits.
    const eyewash = fold.index === 0 || step.key === "check:eyewash";
    const waits = fold.index === fold.steps.length - 1 && (block.issued.after ?? []).length > 0;
    return block.stage.show(step.kind, { ...more, "may-close": waits, eyewash, ...aheadSlots(block, step) }, { joined });
  }
  const last3 = lastReadings(block);
  const offered = offeredCounts(step).map((count) => {
    const part = screen("reading-button", { reading: digits(count, step.decimals ?? 0) });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.count = String(count);
    return part;
  });
  block.stage.show("weigh", {
    ...slots,
    ...weighSlots(block, step),
    offered: offered.length > 0,
    typed: offered.length === 0,
    last: last3.length > 0,
  }, { last: last3, offered });
}

/** Lye behind a tare of its own: what is to be poured stands with that tare, and the keypad comes right after it. @param {BlockAtScale} block @param {Step} step */
function aheadSlots(block, step) {
  const ahead = lyeBehindTare(block, step);
  if (!ahead) return {};
  return {
    ahead: ahead.title,
    "ahead-target": ahead.target_text,
    "ahead-unit": unitSign(ahead.unit ?? ""),
    "ahead-band": ahead.band_text,
    "ahead-how": ahead.how,
    "ahead-valve": ahead.close_valve_text,
    "ahead-stop": ahead.stop,
    next: null,
    following: null,
  };
}

/** @param {BlockAtScale} block @param {Step} step */
function showAsked(block, step) {
  const { text, answers } = /** @type {NonNullable<ReturnType<BlockAtScale["answers"]["asked"]>>} */ (block.answers.asked(step.key));
  sayAloud(text);
  block.stage.show("asked", { text, yes: answers[SCALED], no: answers[AS_PLANNED], person: block.person, before: block.linkBefore(block.fold.index) });
}

/** @param {BlockAtScale} block @param {import("../rules/in_hand_elsewhere.mjs").Elsewhere} elsewhere */
function showElsewhere(block, elsewhere) {
  const { steps, index } = block.fold;
  const step = steps[index];
  block.stage.show("elsewhere", {
    who: atPhone(elsewhere),
    heard: latelyWords(elsewhere.at),
    step: step?.title,
    progress: step && word("step-of", { n: index + 1, of: steps.length }),
    before: block.linkBefore(index),
  });
}

/** @param {BlockAtScale} block */
function showPerson(block) {
  const people = block.people.map((name) => {
    const part = screen("person-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  block.stage.show("person", { problem: block.aside?.problem }, { people });
}

/** @param {BlockAtScale} block */
function showLots(block) {
  const step = /** @type {Step} */ (block.step);
  const lots = lotChoices(block.issued, step).map((name) => {
    const part = screen("lot-button", { name });
    /** @type {HTMLElement} */ (part.firstElementChild).dataset.name = name;
    return part;
  });
  block.stage.show("lot", { pour: step.title, lot: block.lotFor(step), problem: block.aside?.problem }, { lots });
}

/** @param {BlockAtScale} block @param {string} key */
function showRecovery(block, key) {
  const event = /** @type {TarewellEvent} */ (block.fold.done.get(key));
  const { reading, unit } = counting(block.events, event);
  const asked = /** @type {NonNullable<TarewellEvent["asked"]>} */ (event.asked);
  const last = lastReadings(block);
  block.stage.show("recovery", {
    title: block.fold.steps.find((step) => step.key === key)?.title,
    reading,
    unit: unitSign(unit ?? ""),
    aim: `${digits(asked.target, asked.decimals)} ${unitSign(unit ?? "")}`,
    band: `${digits(asked.low, asked.decimals)}–${digits(asked.high, asked.decimals)}`,
    step: block.linkTo(key),
    outside: outside(event, reading ?? ""),
    corrected: !outside(event, reading ?? ""),
    waiting: block.answers.waiting,
    ...block.answers.lacks("scale_recovery"),
    last: last.length > 0,
  }, { last });
  waits(block);
}

/** @param {BlockAtScale} block */
function showReason(block) {
  const { title, choice, figures } = /** @type {Aside} */ (block.aside);
  const goesOn = choice !== undefined && choice.outcome !== "quarantined";
  const told = figures?.cloneNode(true);
  told?.querySelector("button")?.remove();
  block.stage.show("reason", {
    title, decide: goesOn, "set-apart": !goesOn, block: block.number, person: block.person,
  }, { figures: told ? [...told.childNodes] : [] });
  keepReason(block);
}

/** @param {BlockAtScale} block */
function showWhyCorrected(block) {
  const { title, reading, unit } = /** @type {Aside} */ (block.aside);
  block.stage.show("why-corrected", { title, reading, unit: unitSign(unit), person: block.person });
  keepReason(block);
}

/** @param {BlockAtScale} block @param {Step} step */
function showDone(block, step) {
  const event = /** @type {TarewellEvent} */ (block.fold.done.get(step.key));
  const { events } = block;
  const { reading, unit } = counting(events, event);
  const corrections = correctionsOf(events, event);
  const earlier = corrections.map((correction, index) => {
    const was = index === 0 ? event : corrections[index - 1];
    return word("corrected-line", { was: `${was?.reading ?? ""} ${unitSign(unit ?? "")}`, reason: correction.reason ?? "", person: correction.person ?? "", time: whenWords(correction.local) });
  });
  const clash = events.filter((other) => other !== event && other.kind === event.kind && other.step === step.key && other.kind !== "timed");
  const asked = event.asked;
  block.stage.show("done", {
    title: step.title,
    reading,
    unit: unitSign(unit ?? ""),
    aim: asked && `${digits(asked.target, asked.decimals)} ${unitSign(unit ?? "")}`,
    band: asked && `${digits(asked.low, asked.decimals)}–${digits(asked.high, asked.decimals)}`,
    outside: reading !== undefined && outside(event, reading),
    ...heardSlots(event),
    who: event.person,
    when: whenWords(event.local),
    lot: event.lot,
    earlier: earlier.length > 0,
    clash: clash.length > 0,
    current: block.base,
    "may-correct": reading !== undefined && step.unit !== null,
    before: block.linkBefore(block.fold.steps.indexOf(step)),
  }, { earlier: items(earlier), clash: items(clash.map((other) => line(events, other))) });
}

/** What a scale that speaks said when the reading was confirmed: the same, or not. @param {TarewellEvent} event */
function heardSlots({ reading, unit, heard, asked }) {
  if (!heard?.count) return {};
  const decimals = asked?.decimals ?? 0;
  const same = heard.unit === unit && counts(heard.count, decimals) === counts(reading ?? "", decimals);
  return { "as-heard": same, "not-as-heard": !same && `${heard.count} ${unitSign(heard.unit ?? "")}` };
}

/** @param {BlockAtScale} block */
function showClosing(block) {
  const list = readings(block);
  const { stale } = block.fold;
  // Python's record holds it too.
  const training = block.answers.html("scale_record") ? [] : trainingLines(block);
  block.stage.show("closing", {
    block: block.number,
    again: stale,
    first: !stale,
    ...(stale ? {} : block.answers.lacks("scale_record")),
    waiting: block.answers.waiting,
    unworked: stale && !block.answers.waiting && !block.answers.html("scale_record"),
    closable: !stale || Boolean(block.answers.html("scale_record")),
    readings: !block.answers.html("scale_record") && list.length > 0,
    person: block.person,
    training: training.length > 0,
    before: block.linkBefore(block.fold.steps.length),
  }, { readings: list, training });
  waits(block);
}

/** @param {BlockAtScale} block */
const showEnd = (block) => showClosed(block, /** @type {TarewellEvent} */ (block.fold.closed));

/** @param {BlockAtScale} block @param {TarewellEvent} closed */
function showClosed(block, closed) {
  const by = `${closed.person ?? ""}, ${whenWords(closed.local)}`;
  const apart = closed.outcome === "quarantined";
  const following = block.number < (block.issued.blocks ?? 1) ? `#${encodeURIComponent(block.code)}/${block.number + 1}` : null;
  const goes = !apart && nextAfter(block) && `${block.root}/after`;
  const list = readings(block);
  const training = closed.html && closed.record?.trained ? [] : trainingLines(block);
  block.stage.show("closed", {
    block: block.number,
    poured: apart ? "" : by,
    apart: apart ? by : "",
    reason: apart ? closed.reason : "",
    "lye-in": weighings(block.fold).some(({ step }) => step.pour?.startsWith("lye:")),
    later: !apart && !closed.html,
    unmould: apart ? "" : block.unmouldFrom(),
    // The record's own table has them all.
    readings: list.length > 0 && !closed.html,
    told: Boolean(closed.html),
    following,
    after: following && goes,
    "after-next": !following && goes,
    "after-step": nextAfter(block),
    sheet: sheetAddress(block.stage, block.code),
    training: training.length > 0,
    before: block.linkBefore(block.fold.steps.length),
  }, { readings: list, training });
  const frozen = block.stage.find("[data-frozen]");
  if (frozen && closed.html) setFrozenHTML(frozen, closed.html);
  void showCopyAge();
}

/** @type {Record<string, (block: BlockAtScale) => void>} */
const ASIDES = {
  ...AFTER_ASIDES,
  ...FILL_ASIDES,
  person: showPerson,
  lot: showLots,
  reason: showReason,
  early: (block) => {
    const { title, ran, meant } = /** @type {Aside} */ (block.aside);
    block.stage.show("early", { title, ran, meant });
  },
  "why-corrected": showWhyCorrected,
  closing: showClosing,
  correct: (block) => {
    const step = askedStep(block, block.aside?.step);
    if (step) showEntry(block, step);
  },
};
