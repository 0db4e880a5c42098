import { instantWords, timeWords, whenWords } from "../frame/when.mjs";
import { screen } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { word } from "../frame/words.mjs";
import { showCopyAge } from "../records/copy_age.mjs";
import { BARS, COVERED, FRAME, frameThatHolds, goesOn, GOOD, LIFT, pouredAt, stageOf } from "../rules/after_pour.mjs";
import { doneTogether } from "../rules/joined.mjs";
import { counting } from "../rules/readings.mjs";
import { CHECKED_BEFORE } from "../rules/scale_checks.mjs";
import { clock, dayOn } from "../store/clock.mjs";
import { lastTold } from "../store/standing.mjs";
import { afterLink } from "./after_day.mjs";
import { sayAloud } from "./comforts.mjs";
import { showEntry, typedCount } from "./entry.mjs";
import { sheetAddress } from "./lists.mjs";
import { keepReason, reasonGiven } from "./reasons.mjs";
import { inWords } from "./step_words.mjs";

/** @import { Slots } from "../frame/stage.mjs" */
/** @import { Step, TarewellEvent } from "../rules/types.mjs" */
/** @import { BlockAtScale } from "./block.mjs" */

/** A block from the mould to the rack: the same steps, events and taps as at the scale, on screens of its own. */

/** @param {TarewellEvent} event */
const isToday = ({ at }) => dayOn(Date.parse(at)) === dayOn();

/** @param {BlockAtScale} block @returns {import("../rules/after_pour.mjs").AfterPour} */
const asPoured = ({ subject, issued, events }) => ({ subject, issued, events });

/** Whether this block goes on after its pour. @param {BlockAtScale} block */
export const goesOnAfter = (block) => goesOn(asPoured(block));

/** The title of what is next after the pour, for the block's closed record; "" where nothing is. @param {BlockAtScale} block */
export function nextAfter(block) {
  const step = deed(block)?.step;
  return step ? inWords(step).title : "";
}

/** @param {BlockAtScale} block */
const deed = (block) => block.day.deeds().find((each) => each.block.subject === block.subject) ?? null;

/** The check of the frame that this step may rest on. @param {BlockAtScale} block @param {Step} step */
const frameBefore = (block, step) =>
  step.key === FRAME ? frameThatHolds(block.day.blocks.flatMap(({ events }) => events), isToday) : null;

/** What is done in one go with the step in hand: where the frame holds from a block before, its bars. @param {BlockAtScale} block @param {Step} step @returns {Step[]} */
const together = (block, step) =>
  frameBefore(block, step) ? block.fold.steps.filter(({ key }) => key === BARS && !block.fold.done.has(key)) : doneTogether(block.fold);

/** @param {BlockAtScale} block @param {Step} step @returns {Slots} */
function slots(block, step) {
  const { fold, issued, number, person } = block;
  return {
    formula: issued.formula?.name ?? block.code,
    block: number,
    title: step.title,
    how: step.how,
    stop: step.stop,
    safety: step.safety,
    person: person || word("nobody-yet"),
    following: fold.steps[fold.index + 1 + together(block, step).length]?.title,
    before: block.linkBefore(fold.index),
  };
}

/** @param {BlockAtScale} block */
export function showAfter(block) {
  const { fold, step } = block;
  if (fold.ended || !step) return showOver(block);
  const from = deed(block)?.at ?? 0;
  if (from > clock.now() && block.early !== step.key) return showWaits(block, step, from);
  if (step.kind !== "measure") sayAloud(step.title);
  SCREENS[step.kind]?.(block, step);
}

/** @param {BlockAtScale} block @param {Step} step @param {number} from [ms] */
function showWaits(block, step, from) {
  block.stage.show("after-waits", { ...slots(block, step), how: null, stop: null, from: instantWords(from), ...basis(block, step), list: "#" });
}

/** How it is known when a block comes out. @param {BlockAtScale} block @param {Step} step @returns {Slots} */
function basis(block, step) {
  if (step.key !== LIFT) return {};
  const { own, low, high, at } = block.day.unmouldFrom(asPoured(block));
  const hours = (/** @type {number} */ seconds) => Math.round(seconds / 3600);
  return { "of-own": own || "", "not-yet": own === 0, low: hours(low), high: hours(high), least: block.day.least, early: at > clock.now() && instantWords(at) };
}

/** @type {Partial<Record<Step["kind"], (block: BlockAtScale, step: Step) => void>>} */
const SCREENS = {
  cover: showCover,
  gel: (block, step) => block.stage.show("after-gel", slots(block, step)),
  lift: (block, step) => block.stage.show("after-lift", { ...slots(block, step), ...basis(block, step), planned: block.answers.html("scale_lift") ? "" : step.next }),
  confirm: showConfirm,
  measure: (block, step) => {
    if (block.draft.begun(step.key) && !block.peeking) return showEntry(block, step);
    if (step.target === null) return showEntry(block, step);
    block.stage.show("after-count", { ...slots(block, step), all: step.target > 0 && step.target, none: step.target === 0 }, {});
    /** @type {HTMLElement | null} */ (block.stage.find('[data-do="shown"]'))?.setAttribute("data-count", String(step.target));
  },
  rack: showRack,
};

/** @param {BlockAtScale} block @param {Step} step */
function showConfirm(block, step) {
  const holds = frameBefore(block, step);
  const joined = together(block, step).map((each) => screen("joined-step", { title: each.title, how: each.how, stop: each.stop }));
  block.stage.show("after-confirm", {
    ...slots(block, step),
    ...(holds ? { how: null, stop: null } : {}),
    accepted: holds?.person,
    time: holds && timeWords(holds.local),
    joined: joined.length > 0,
    alone: joined.length === 0,
  }, { joined });
}

/** The newest event of a kind: what was told then stands there already; nothing until what stands is made. @param {"covered" | "shelved"} what */
const newest = async (what) => (await untilRead((limit) => lastTold(what, limit), () => null))?.last;

/** @param {BlockAtScale} block @param {Step} step */
function showCover(block, step) {
  block.stage.show("after-cover", slots(block, step));
  void newest("covered").then((last) => {
    const radio = block.stage.find(`input[name="cover"][value="${CSS.escape(last?.cover ?? "")}"]`);
    if (radio instanceof HTMLInputElement && !block.stage.find('input[name="cover"]:checked')) radio.checked = true;
    suggest(block, "room", last?.room);
  });
}

/** @param {BlockAtScale} block @param {string} name @param {string | null | undefined} text */
function suggest({ stage }, name, text) {
  const field = stage.find(`input[name="${name}"]`);
  if (field instanceof HTMLInputElement && field.value === "") field.value = text ?? "";
}

/** @param {BlockAtScale} block @param {Step} step */
function showRack(block, step) {
  block.stage.show("after-rack", { ...slots(block, step), good: goodBars(block) });
  showTyped(block, step);
  block.stage.find(".typing")?.scrollIntoView({ block: "start" });
  void newest("shelved").then((last) => suggest(block, "place", last?.place));
}

/** @param {BlockAtScale} block @param {Step} step */
function showTyped({ stage, draft }, step) {
  const typed = stage.find("[data-typed]");
  if (typed) typed.textContent = draft.of(step.key).typed;
}

/** The good bars as they count, "" where nobody counted. @param {BlockAtScale} block */
function goodBars({ fold, events }) {
  const event = fold.done.get(GOOD);
  return event ? (counting(events, event).reading ?? "") : "";
}

/** @param {BlockAtScale} block */
function showOver(block) {
  const { fold, stage, code, number } = block;
  const next = block.day.deeds().find(({ at }) => at <= clock.now());
  const racked = block.events.find(({ kind }) => kind === "racked");
  const told = fold.ended ?? racked;
  stage.show("after-over", {
    block: number,
    racked: !fold.ended && told && `${told.person ?? ""}, ${whenWords(told.local)}`,
    ended: fold.ended && told && `${told.person ?? ""}, ${whenWords(told.local)}`,
    reason: fold.ended?.reason,
    bars: racked?.bars,
    trays: racked?.trays,
    place: racked?.place,
    next: next && afterLink(next.block.subject),
    record: `${block.root}`,
    sheet: sheetAddress(stage, code),
    before: block.linkBefore(fold.steps.length),
  });
  void showCopyAge();
}

/** The block whose turn it is once a stage is done, "" where this one goes on: all loaves first, then all bars. @param {BlockAtScale} block @param {string} done */
export async function nextBlock(block, done) {
  await block.day.read();
  const own = deed(block);
  const first = block.day.deeds()[0];
  const turns = first && own && first.block.subject !== block.subject && first.at <= clock.now() && own.stage !== stageOf(done);
  return turns ? afterLink(first.block.subject) : "";
}

/** @param {BlockAtScale} block @param {string} problem */
function complain({ stage }, problem) {
  const place = stage.find('[data-slot="problem"]');
  if (place) place.textContent = word(problem);
}

/** @param {BlockAtScale} block */
const chosenCover = ({ stage }) => {
  const chosen = stage.find('input[name="cover"]:checked');
  return chosen instanceof HTMLInputElement ? chosen.value : "";
};

/** Stores the step in hand, with what belongs to it. @param {BlockAtScale} block @param {import("../rules/types.mjs").BlockKind} kind @param {Partial<TarewellEvent>} fields */
async function complete(block, kind, fields) {
  const { step } = block;
  if (step && (await block.store(kind, { step: step.key, ...fields }))) await block.advance(step.key);
}

/** @param {BlockAtScale} block @param {string} [reason] */
function lifted(block, reason) {
  const { events, issued, fold } = block;
  return complete(block, "lifted", {
    seconds: Math.max(0, Math.round((clock.now() - pouredAt(events)) / 1000)),
    cover: fold.done.get(COVERED)?.cover ?? "none",
    in_mould: issued.mould?.name ?? null,
    of_formula: issued.formula?.name ?? "",
    ...(reason ? { reason } : {}),
  });
}

/** @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<void> | void>} */
export const AFTER_DEEDS = {
  "early-now": (block) => {
    block.early = block.step?.key ?? "";
    block.show();
  },
  covered: (block) => {
    const cover = chosenCover(block);
    if (cover === "") return complain(block, "cover-missing");
    return complete(block, "covered", { cover, room: block.stage.typed("room") || null });
  },
  gel: (block, button) => complete(block, "gelled", { gel: button.dataset.gel ?? "" }),
  lifted: (block) => {
    if (block.answers.now?.record?.after?.over) return block.ask({ name: "over-hoist" });
    return lifted(block);
  },
  "over-hoist": async (block) => {
    const reason = reasonGiven(block);
    if (reason !== "") await lifted(block, reason);
  },
  "after-done": async (block) => {
    const { step } = block;
    if (!step) return;
    const [holds, others] = [frameBefore(block, step), together(block, step)];
    if (!(await block.store("checked", { step: step.key, ...(holds ? { note: CHECKED_BEFORE, accepts: holds.accepts ?? holds.id } : {}) }))) return;
    for (const { key } of others) {
      if (!(await block.store("checked", { step: key }))) return;
    }
    await block.advance((others.at(-1) ?? step).key);
  },
  "not-measured": (block) => complete(block, "measured", { note: "not-read" }),
  "set-aside": async (block) => {
    const reason = reasonGiven(block);
    const { reading, unit } = /** @type {import("./block.mjs").Aside} */ (block.aside);
    if (reason !== "") await complete(block, "measured", { reading, unit, reason });
  },
  racked: async (block) => {
    const trays = typedCount(block);
    if (trays === null || trays === 0) return complain(block, "trays-missing");
    const bars = goodBars(block);
    await complete(block, "racked", {
      trays,
      ...(bars === "" ? {} : { bars: Number(bars) }),
      place: block.stage.typed("place") || null,
      of_formula: block.issued.formula?.name ?? "",
      density_g_per_ml: block.answers.now?.record?.after?.density_g_per_ml ?? null,
    });
  },
  "end-here": (block) => block.ask({ name: "end-here" }),
  "ended-here": async (block) => {
    const reason = reasonGiven(block);
    if (reason === "" || !(await block.store("ended", { reason }))) return;
    await block.day.read();
    block.ask(null);
  },
};

/** Questions of this part's own. @type {Record<string, (block: BlockAtScale) => void>} */
export const AFTER_ASIDES = Object.fromEntries(["over-hoist", "set-aside", "end-here"].map((name) => [name, (block) => {
  block.stage.show(`after-${name}`, { block: block.number, reading: block.aside?.reading, person: block.person });
  keepReason(block);
}]));
