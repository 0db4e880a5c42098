import { app } from "../frame/app.mjs";
import { untilMade } from "../frame/made.mjs";
import { screen } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { dayWords, timeWords } from "../frame/when.mjs";
import { copyAge } from "../records/copy_age.mjs";
import { blockOf, blockSubject } from "../rules/block.mjs";
import { afterOf, goesOn, isBegun } from "../rules/after_pour.mjs";
import { dueOf } from "../rules/due.mjs";
import { fillOf, fillSubject, isOfFill } from "../rules/fill.mjs";
import { entryWords } from "../day/notify.mjs";
import { comingUp, plansOf } from "../rules/day.mjs";
import { readyFrom } from "../rules/racks.mjs";
import { onTanks, openSwitches, withoutSwitched } from "../rules/switches.mjs";
import { openStops } from "../rules/training.mjs";
import { readUpkeep, titleOf } from "../upkeep/told.mjs";
import { readEyewash } from "../safety/eyewash_state.mjs";
import { AfterDay, afterLink } from "../scale/after_day.mjs";
import { fillLink } from "../scale/fill_link.mjs";
import { inWords } from "../scale/step_words.mjs";
import { clock, dayOn, localTime } from "../store/clock.mjs";
import { eventsAbout, firstBatch } from "../store/events.mjs";
import { mode } from "../store/mode.mjs";
import { makeStanding, standingToday } from "../store/standing.mjs";
import { readClosed } from "./blocks.mjs";
import { blockAddress } from "./in_hand.mjs";

/** @import { Due } from "../rules/due.mjs" */
/** @import { OnRack } from "../rules/racks.mjs" */
/** @import { Switch } from "../rules/switches.mjs" */
/** @import { BlockToday, FillToday } from "./blocks.mjs" */

const place = () => /** @type {HTMLElement} */ (document.querySelector("[data-due]"));

/** What was read last; rows are made anew from it as time goes by. @type {{blocks: BlockToday[], fills: FillToday[], batches: OnRack[], switches: Switch[], on: Switch[], entries: () => ReturnType<typeof comingUp>, known: Parameters<typeof dueOf>[0]} | null} */
let read = null;

const NO_COPY = { last: "", since: 0, closed: 0 };

/** Reads all that may be due, and tells it. @param {BlockToday[]} inHand @param {FillToday[]} fills */
export async function readDue(inHand, fills) {
  const closed = await readClosed();
  const blocks = [...inHand, ...closed];
  const poured = closed.flatMap(({ code, block, issued, events }) => (issued ? [{ subject: blockSubject(code, block), issued, events }] : []));
  const day = new AfterDay();
  await day.read(poured);
  // Where nothing of the work after the pour is told, only the time in the mould is: nobody is asked for more than was begun.
  const told = poured.filter((block) => goesOn(block) && (isBegun(afterOf(block)) || afterOf(block).ended));
  const begun = new Set(told.map(({ subject }) => subject));
  const plan = plansOf(await untilRead((limit) => eventsAbout(`day:${dayOn()}`, limit), () => [])).get(dayOn());
  const standing = await untilMade(standingToday, makeStanding, () => ({ racks: [], walks: [], switches: [] }));
  const entries = withoutSwitched(plan?.entries ?? [], standing.switches, dayOn());
  const switches = openSwitches(standing.switches);
  const on = onTanks(standing.switches, dayOn());
  const eventsOf = (/** @type {string} */ subject) =>
    blocks.find(({ code, block }) => blockSubject(code, block) === subject)?.events ?? [];
  const eyewash = await untilRead(readEyewash, () => ({}));
  const first = await untilRead(firstBatch, () => null);
  read = {
    blocks,
    fills,
    batches: standing.racks,
    switches,
    on,
    entries: () => comingUp(entries, eventsOf, clock.now()),
    known: {
      stops: openStops(standing.walks, {}, [], (place().dataset.placePoints ?? "").split(" ")),
      // Who only looks at the invented workshop has no eyewash to check.
      eyewash: Object.fromEntries(Object.entries(eyewash).filter(([, { state }]) => app.own || state !== "never")),
      blocks: [
        ...fills.map(({ id, fold, events }) => ({ subject: fillSubject(id), steps: fold.steps, events })),
        ...blocks
          .map(({ code, block, fold, events }) => ({ subject: blockSubject(code, block), steps: fold.steps, events }))
          .filter(({ subject }) => !begun.has(subject)),
      ],
      after: day.deeds().filter(({ block: { subject } }) => begun.has(subject)).map(({ block: { subject }, step, at }) => ({ subject, step: step.key, at })),
      switches: switches.map(({ id, at }) => ({ id, at: Date.parse(at) })),
      on: on.map(({ id, at }) => ({ id, at: Date.parse(at) })),
      racks: standing.racks.map((batch) => ({ id: batch.id, weigh: batch.weigh, ready: readyFrom(batch, readyRule()) })),
      upkeep: await readUpkeep(),
      // Nobody has to keep a copy of practice.
      copies: { ...(mode === "own" ? await untilRead(copyAge, () => NO_COPY) : NO_COPY), every: Number(place().dataset.copyDays), after: Number(place().dataset.copyBlocks), first: first?.local.slice(0, 10) ?? "" },
    },
  };
  showDue();
}

/** The maker's rule for when a batch is ready, as it is typed. */
function readyRule() {
  const { cure_weeks: weeks = "", cure_weekly_loss_fraction: loss = "" } = app.state.shop?.[0]?.values ?? {};
  return { weeks, loss, usual: Number(place().dataset.cureWeeks) };
}

/** Tells what is due by the clock as it stands. */
export function showDue() {
  if (!read) return;
  const { due, next } = dueOf({ ...read.known, plan: read.entries() }, clock.now(), dayOn());
  /** @type {HTMLElement} */ (place().querySelector("ul")).replaceChildren(...due.map(row));
  const nothing = /** @type {HTMLElement} */ (place().querySelector("[data-nothing-due]"));
  nothing.hidden = due.length > 0;
  /** @type {HTMLElement} */ (nothing.querySelector("[data-next-due]")).replaceChildren(
    ...(next ? [screen(["next", next.kind, ...next.checks].join("-"), { day: dayWords(next.day, dayOn()) })] : []));
}

/** @param {Due} each */
function row(each) {
  const made = screen(`due-${each.kind}`, { ...WORDS[each.kind](each), alarm: each.alarm, calm: !each.alarm });
  made.querySelector("li")?.toggleAttribute("data-alarm", each.alarm);
  for (const button of made.querySelectorAll(/** @type {"button"} */ ("[data-switch]"))) button.value = each.about;
  for (const { dataset } of made.querySelectorAll(/** @type {"button"} */ ("[data-take-back]"))) {
    const { tank = "", person = "" } = toldSwitch(each.about) ?? {};
    Object.assign(dataset, { takeBack: each.about, subject: `contents:${tank}`, person });
  }
  return made;
}

/** @param {Due} each */
function time(each) {
  const { kind, at, about, step } = each;
  if (isOfFill(about)) return timeOfFill(each);
  const [code, block] = blockOf(about);
  const found = read?.blocks.find((one) => one.code === code && one.block === block);
  const frozen = [...(found?.fold.steps ?? []), ...(found?.issued?.after ?? [])].find(({ key }) => key === step);
  const day = dayOn(at ?? 0);
  return {
    target: kind === "after" ? `${place().dataset.scaleUrl ?? ""}${afterLink(about)}` : blockAddress(place().dataset.scaleUrl ?? "", { code, block }),
    formula: found?.issued?.formula?.name ?? code,
    block,
    code,
    title: frozen ? inWords(frozen).title : "",
    day: day === dayOn() ? "" : dayWords(day, dayOn()),
    time: timeWords(localTime(at ?? 0)),
    over: (at ?? 0) <= clock.now(),
  };
}

/** The wait before a portion. @param {Due} each */
function timeOfFill({ at, about, step }) {
  const found = read?.fills.find(({ id }) => fillSubject(id) === about);
  const frozen = found?.fold.steps.find(({ key }) => key === step);
  const day = dayOn(at ?? 0);
  return {
    target: `${place().dataset.scaleUrl ?? ""}${fillLink(fillOf(about))}`,
    tank: found?.issued.tank_name,
    title: frozen ? inWords(frozen).title : "",
    day: day === dayOn() ? "" : dayWords(day, dayOn()),
    time: timeWords(localTime(at ?? 0)),
    over: (at ?? 0) <= clock.now(),
  };
}

/** @param {Due} each */
function onRack({ kind, about, day }) {
  const { soap = "", code = "", block = 0 } = read?.batches.find(({ id }) => id === about) ?? {};
  return {
    target: `${place().dataset.rackUrl ?? ""}${kind === "ready" ? "move" : "drying"}/#${encodeURIComponent(about)}`,
    formula: soap || code,
    block,
    code,
    day: dayWords(day, dayOn()),
  };
}

/** @param {Due} each */
function byPlan({ step, at, about }) {
  const found = read?.entries().find(({ entry }) => `${entry.at} ${entry.kind} ${entry.mark}` === step);
  const block = about === "" ? null : blockOf(about);
  return {
    target: block && found?.entry.kind !== "bars" && found?.entry.kind !== "unmould"
      ? blockAddress(place().dataset.scaleUrl ?? "", { code: block[0], block: block[1] })
      : `${place().dataset.dayUrl ?? ""}#${dayOn()}`,
    title: found ? entryWords(found.entry) : "",
    late: found?.late,
    time: timeWords(localTime(at ?? 0)),
  };
}

/** @param {Due} each */
function bySwitch({ about, at }) {
  const { tank = "", name = "", person = "" } = toldSwitch(about) ?? {};
  const day = dayOn(at ?? 0);
  return {
    target: `${place().dataset.heatUrl ?? ""}#${tank}`,
    name,
    person,
    day: day === dayOn() ? "" : dayWords(day, dayOn()),
    time: timeWords(localTime(at ?? 0)),
    over: (at ?? 0) <= clock.now(),
  };
}

/** A switch-on that is kept, or done, by the event that says so. @param {string} id */
export const toldSwitch = (id) => [...(read?.switches ?? []), ...(read?.on ?? [])].find((each) => each.id === id);

/** @type {Record<Due["kind"], (each: Due) => import("../frame/stage.mjs").Slots>} */
const WORDS = {
  stop: ({ about }) => {
    const stop = read?.known.stops.find(({ subject }) => subject === about);
    return {
      target: `${place().dataset.safetyUrl}#${about.slice("walk:".length)}`,
      helper: stop?.place ? "" : stop?.helper,
      place: Boolean(stop?.place),
    };
  },
  eyewash: ({ checks, state, day }) => ({
    target: `${place().dataset.safetyUrl}#eyewash`,
    [`${state === "never" ? "never-" : ""}${checks.length > 1 ? "both" : checks[0]}`]: true,
    known: state !== "never",
    [state]: true,
    day: day && dayWords(day, dayOn()),
  }),
  timer: time,
  unmould: time,
  after: time,
  plan: byPlan,
  switch: bySwitch,
  on: bySwitch,
  weigh: onRack,
  ready: onRack,
  upkeep: ({ about }) => {
    const pressing = (read?.known.upkeep ?? []).filter(({ state }) => state !== "later");
    const { values, state } = pressing[0] ?? {};
    return {
      target: `${place().dataset.upkeepUrl ?? ""}#${encodeURIComponent(about)}`,
      title: titleOf(about, values?.name ?? ""),
      found: state === "fault",
      over: state === "over",
      more: pressing.length > 1 ? pressing.length - 1 : "",
    };
  },
  copy: ({ day }) => {
    const { last, since, closed } = read?.known.copies ?? NO_COPY;
    return { target: place().dataset.copiesUrl, never: last === "", last: last && dayWords(last, dayOn()), since, closed: closed || "", day };
  },
};
