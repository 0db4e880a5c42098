import { rememberPerson } from "../frame/people.mjs";
import { forgetWayBack } from "../frame/way_back.mjs";
import { word } from "../frame/words.mjs";
import { copyAtATap, copyToFolder } from "../records/copy_out.mjs";
import { AS_PLANNED, NOTHING_LEFT, SCALED } from "../rules/block.mjs";
import { doneTogether, startsWith } from "../rules/joined.mjs";
import { instantOf } from "../rules/timers.mjs";
import { nameOf } from "../shop/names.mjs";
import { clock } from "../store/clock.mjs";
import { AFTER_DEEDS } from "./after.mjs";
import { endOfStep, handCalendar, spread } from "./countdown.mjs";
import { CHECK_DEEDS, scaleChecked } from "./checks.mjs";
import { correctionOf } from "./draft.mjs";
import { affirm, correctBecause, showEntry, takeReading, takeShown, typeAgain, typeKey } from "./entry.mjs";
import { FILL_DEEDS } from "./fill_screens.mjs";
import { connectScale } from "./live.mjs";
import { lotMeant } from "./lots.mjs";
import { READY_DEEDS, renewStop } from "./ready.mjs";
import { reasonGiven } from "./reasons.mjs";
import { lyeBehindTare } from "./slots.mjs";
import { startOf } from "./view.mjs";

/** @import { Aside, BlockAtScale } from "./block.mjs" */

/** What each button of a block does. @type {Record<string, (block: BlockAtScale, button: HTMLElement) => Promise<unknown> | void>} */
export const DEEDS = {
  ...READY_DEEDS,
  ...CHECK_DEEDS,
  ...AFTER_DEEDS,
  ...FILL_DEEDS,
  "take-over": (block) => block.hold.takeOver(),
  "connect-scale": connectScale,
  "change-person": (block) => block.ask({ name: "person" }),
  "take-from-phone": (block) => (block.person === "" ? block.ask({ name: "person", takes: true }) : takeFromPhone(block)),
  person: (block, button) => choosePerson(block, button.dataset.name ?? ""),
  "person-typed": (block) => choosePerson(block, block.stage.typed("person")),
  leave: (block) => block.ask(null),

  done: (block) => {
    const weighs = block.fold.steps[block.fold.index]?.kind === "weigh";
    return complete(block, "checked", weighs ? { note: NOTHING_LEFT } : {});
  },
  "no-reading": (block) => (block.mustRead ? block.ask({ name: "fill-unread" }) : complete(block, "checked", { note: "not-read" })),
  read: (block) => {
    block.peeking = false;
    if (block.step) showEntry(block, block.step);
  },
  key: (block, button) => typeKey(block, button.dataset.key ?? ""),
  reading: takeReading,
  shown: (block, button) => takeShown(block, Number(button.dataset.count)),
  yes: affirm,
  again: typeAgain,
  "leave-keypad": async (block) => {
    if (block.aside) await block.draft.forget([correctionOf(block.aside.step)]);
    block.peeking = block.aside === null;
    block.ask(null);
  },
  correct: (block) => block.ask({ name: "correct", step: block.looking ?? "" }),
  "corrected-because": correctBecause,

  lot: (block) => block.ask({ name: "lot" }),
  "lot-chosen": (block, button) => chooseLot(block, button.dataset.name ?? ""),
  "lot-typed": (block) => chooseLot(block, block.stage.typed("lot")),

  "start-timer": async (block) => {
    const { step } = block;
    if (!step) return;
    if (await block.store("timed", { step: step.key, action: "started", seconds: step.seconds ?? 0 })) block.show();
  },
  "end-timer": async (block) => {
    const { step } = block;
    const started = step && startOf(block.events, step.key);
    if (!step || !started || clock.now() >= endOfStep(started, step)) return endTimer(block);
    const meant = started.seconds ?? step.seconds ?? 0;
    block.ask({ name: "early", title: step.title, ran: spread(hasRun(started)), meant: spread(meant) });
  },
  "end-early": endTimer,
  copy: () => copyAtATap(),
  calendar: async (block) => {
    const step = block.unmould() ?? block.step;
    const started = step && startOf(block.events, step.key);
    if (step && started) await handCalendar(block, step, started);
  },

  decide: (block, button) => {
    const key = button.dataset.decide ?? "";
    const choice = block.answers.choice(key);
    const title = button.querySelector("strong")?.textContent ?? "";
    const figures = button.closest("li")?.cloneNode(true);
    if (choice) block.ask({ name: "reason", decide: key, title, choice, figures });
  },
  asked: (block) => {
    const title = word("asked-title");
    block.ask({ name: "reason", decide: "asked", title, choice: { text: title, steps: [], replaced: {}, outcome: null } });
  },
  "with-oils": (block) => answerOils(block, SCALED),
  "as-planned": (block) => answerOils(block, AS_PLANNED),
  apart: (block) => block.ask({ name: "reason", title: word("apart-title", { n: block.number }) }),
  "reason-given": giveReason,
  "to-closing": (block) => block.ask({ name: "closing" }),
  close: async (block) => {
    const { answers, fold } = block;
    const record = answers.now?.record?.closing ?? null;
    // A record takes the place of another only where it is one.
    if (fold.stale && !record) return block.ask({ name: "closing" });
    const renews = fold.stale && fold.closed ? { renews: fold.closed.id } : {};
    await close(block, { outcome: "poured", reason: "", record, html: answers.html("scale_record") ?? "", ...renews });
  },
};

/** @param {import("../rules/types.mjs").TarewellEvent} started [s] */
const hasRun = (started) => Math.max(0, Math.round((clock.now() - instantOf(started)) / 1000));

/** @param {BlockAtScale} block */
async function endTimer(block) {
  const started = block.step && startOf(block.events, block.step.key);
  if (block.step) await complete(block, "timed", { action: "ended", seconds: started ? hasRun(started) : 0 });
}

/** @type {Aside} */
const NOTHING = { name: "" };

/**
 * The step in hand is done, and with it what is done in one go with it. Each is stored by itself, in order.
 *
 * @param {BlockAtScale} block @param {"checked" | "timed"} kind @param {object} fields
 */
async function complete(block, kind, fields) {
  const { step, fold, events } = block;
  if (step === null) return;
  const ahead = lyeBehindTare(block, step);
  const together = doneTogether(fold);
  const last = startsWith(fold, (key) => startOf(events, key) !== undefined);
  if (!(await block.store(kind, { step: step.key, ...fields }))) return;
  await scaleChecked(block, step);
  for (const { key } of together) {
    if (!(await block.store("checked", { step: key }))) return;
  }
  if (last && !(await block.store("timed", { step: last.key, action: "started", seconds: last.seconds ?? 0 }))) return;
  await block.advance((together.at(-1) ?? step).key, () => {
    if (last) block.aside = { name: "closing" };
    // What is to be poured stood with the tare: the display is read next.
    else if (ahead) block.draft.begin(ahead.key);
  });
}

/** @param {BlockAtScale} block @param {string} person */
async function choosePerson(block, person) {
  const takes = block.aside?.takes;
  if (person === "") return block.ask({ name: "person", takes, problem: word("person-missing") });
  block.person = person;
  await rememberPerson(person).catch(() => {});
  await renewStop(block);
  if (takes) await takeFromPhone(block);
  else block.ask(null);
}

/** Work that is in hand on another phone goes on here, by somebody's name. @param {BlockAtScale} block */
async function takeFromPhone(block) {
  const { elsewhere } = block;
  if (elsewhere) {
    const phone = nameOf(elsewhere.device);
    if (!(await block.store("taken_over", { from: elsewhere.device, ...(phone && { phone }) }))) return;
  }
  block.ask(null);
}

/** @param {BlockAtScale} block @param {string} lot */
async function chooseLot(block, lot) {
  if (lot === "") return block.ask({ name: "lot", problem: word("lot-missing") });
  const { step } = block;
  if (step?.pour && (await block.store("lots", { lots: { [step.pour]: lotMeant(block.issued, step, lot) } }))) block.ask(null);
}

/** @param {BlockAtScale} block */
async function giveReason(block) {
  const reason = reasonGiven(block);
  if (reason === "") return;
  const { decide, choice } = block.aside ?? NOTHING;
  const step = block.pending;
  // Somebody else has decided meanwhile: what was asked here is no longer asked.
  if (decide !== undefined && step === null) return block.ask(null);
  // One event alone: a phone that dies between two would go on with a block that was to be stopped.
  if (decide === undefined || choice.outcome === "quarantined") {
    return close(block, { outcome: "quarantined", reason, record: null, html: "" });
  }
  const { text, steps, replaced } = choice;
  if (step !== null && (await block.store("decided", { step, choice: decide, reason, text, steps, replaced }))) {
    await block.advance(step);
  }
}

/** Whether the step in hand changes with the oils: one tap, stored with both amounts. @param {BlockAtScale} block @param {string} choice */
async function answerOils(block, choice) {
  const step = block.current;
  const asked = step === null ? null : block.answers.asked(step);
  if (step === null || asked === null) return block.show();
  const replaced = choice === SCALED ? asked.replaced : {};
  const fields = { step, choice, reason: "", text: asked.recorded[choice] ?? "", steps: [], replaced };
  if (await block.store("decided", fields)) block.show();
}

/** @param {BlockAtScale} block @param {{outcome: "poured" | "quarantined", reason: string, record: object | null, html: string, renews?: string}} fields */
async function close(block, fields) {
  if (!(await block.store("closed", fields))) return;
  forgetWayBack();
  await block.draft.clear();
  block.ask(null);
  // The closed block is on the screen; a folder that was picked gets its copy meanwhile.
  void copyToFolder(false);
}
