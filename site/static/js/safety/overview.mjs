import { people } from "../frame/people.mjs";
import { fill } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { WALK_KINDS } from "../rules/kinds.mjs";
import { covers, isDaily, isReady, nameKey, openStops, trainings } from "../rules/training.mjs";
import { dayOf, foldWalks, isOver } from "../rules/walk.mjs";
import { dayOn } from "../store/clock.mjs";
import { eventsOfKinds } from "../store/events.mjs";
import { readyToBegin } from "./begin.mjs";
import { showDaily } from "./daily.mjs";
import { showInitials } from "./initials.mjs";
import { phaseName, pointName, required, wordsIn } from "./points.mjs";
import { trainingMonths } from "./shop.mjs";

/** @import { TarewellEvent, WalkFold } from "../rules/types.mjs" */
/** @import { Slots } from "../frame/stage.mjs" */

/** @param {string} selector @param {ParentNode} [within] */
const one = (selector, within = document) => /** @type {HTMLElement} */ (within.querySelector(selector));

/** One entry of a list. @param {string} name @param {Slots} slots */
function part(name, slots) {
  const made = wordsIn(`template[data-part="${name}"]`);
  for (const each of made.querySelectorAll("[data-if]")) if (!slots[each.getAttribute("data-if") ?? ""]) each.remove();
  fill(made, slots);
  return made;
}

/** @param {Node[]} nodes */
export const items = (nodes) =>
  nodes.map((node) => {
    const item = document.createElement("li");
    item.append(node);
    return item;
  });

/** All that the page shows from the records. */
export async function showOverview() {
  const events = await untilRead((limit) => eventsOfKinds(WALK_KINDS, limit));
  one("#known-people").replaceChildren(...people().map((name) => new Option(name, name)));
  await showDaily(events);
  showWalks(events);
  showTrainings(events);
  showStops(events);
  await readyToBegin();
}

/** @param {TarewellEvent[]} events */
function showWalks(events) {
  const open = foldWalks(events, dayOn()).filter((walk) => walk.stopped || (!walk.closed && isOpen(walk)));
  const place = one("[data-walks-in-hand]");
  place.hidden = open.length === 0;
  one("ul", place).replaceChildren(...open.map((walk) => part("walk", {
    href: `#${walk.begun.subject.slice("walk:".length)}`,
    helper: walk.begun.helper ?? "",
    daily: isDaily(walk),
    day: dayOf(walk.begun),
    progress: `${walk.points.length - walk.parts.flatMap(({ left }) => left).length} / ${walk.points.length}`,
    stopped: Boolean(walk.stopped),
  })));
}

/** A daily check of another day is over by itself. @param {WalkFold} walk */
const isOpen = (walk) => (isDaily(walk) ? !isReady(walk) && !isOver(walk, dayOn()) : !walk.signed || isOver(walk, dayOn()));

/** @param {TarewellEvent[]} events */
function showTrainings(events) {
  const months = trainingMonths();
  const all = trainings(events, months);
  const record = { all, stops: openStops(events, required()), required: required() };
  one("[data-training-empty]").hidden = all.length > 0;
  one("[data-months-missing]").hidden = months !== null;
  one("[data-trainings]").replaceChildren(...all.map((each) => {
    const guided = covers(record, each.guide, each.phases, each.day);
    const entry = part("training", {
      helper: each.helper,
      guide: each.guide,
      day: each.day,
      until: each.until,
      over: each.until !== "" && each.until < dayOn(),
      again: each.again.length > 0,
      guided,
      unguided: !guided,
      alone: nameKey(each.helper) === nameKey(each.guide),
      reason: each.reason,
      initials: each.initials,
    });
    entry.querySelector("[data-languages]")?.append(...items(each.languages.map((key) => wordsIn(`template[data-language="${key}"]`))));
    entry.querySelector("[data-way]")?.append(wordsIn(`template[data-way-name="${each.way}"]`));
    entry.querySelector("[data-list-phases]")?.append(...items(each.phases.map(phaseName)));
    entry.querySelector("[data-list-again]")?.append(...items(each.again.map((point) => pointName(point))));
    showInitials(entry, each.path);
    return entry;
  }));
}

/** Every "no", who cleared it and what was done: a walk that was signed in the end doesn't say so. @param {TarewellEvent[]} events */
function showStops(events) {
  const stops = foldWalks(events).flatMap(({ begun, stops }) => stops.map((stop) => ({ begun, ...stop })));
  const place = one("[data-stops]");
  place.hidden = stops.length === 0;
  one("ul", place).replaceChildren(...stops.map(({ begun, no, cleared }) => {
    const entry = part("stop", {
      href: `#${begun.subject.slice("walk:".length)}`,
      helper: begun.helper ?? "",
      day: dayOf(no),
      open: !cleared,
      person: cleared?.person ?? "",
      cleared: cleared ? dayOf(cleared) : "",
      reason: cleared?.reason ?? "",
    });
    entry.querySelector("[data-point]")?.append(pointName(no.point ?? "", begun.own));
    return entry;
  }));
}
