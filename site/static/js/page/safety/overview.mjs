import { localTime, clock } from "../../store/clock.mjs";
import { eventsOfKinds, newEvent } from "../../store/events.mjs";
import { daysAfter, monthsAfter, trainings } from "../../store/training.mjs";
import { foldWalks, WALK_KINDS, walkSubject } from "../../store/walk.mjs";
import { mirrorEyewash } from "../safety_mirror.mjs";
import { insist, keep } from "../saved.mjs";
import { people } from "../scale/people.mjs";
import { fill } from "../scale/stage.mjs";
import { showInitials } from "./initials.mjs";
import { trainingMonths } from "./months.mjs";
import { phaseName, pointsOf, templateOf } from "./points.mjs";

/** @import { TarewellEvent } from "../../store/types.mjs" */
/** @import { Slots } from "../scale/stage.mjs" */

const today = () => localTime(clock.now()).slice(0, 10);

/** @param {string} selector @param {ParentNode} [within] */
const one = (selector, within = document) => /** @type {HTMLElement} */ (within.querySelector(selector));

/** One entry of a list. @param {string} name @param {Slots} slots */
function part(name, slots) {
  const template = /** @type {HTMLTemplateElement} */ (document.querySelector(`template[data-part="${name}"]`));
  const made = document.importNode(template.content, true);
  for (const each of made.querySelectorAll("[data-if]")) if (!slots[each.getAttribute("data-if") ?? ""]) each.remove();
  fill(made, slots);
  return made;
}

/** @param {Node[]} nodes */
const items = (nodes) =>
  nodes.map((node) => {
    const item = document.createElement("li");
    item.append(node);
    return item;
  });

/** The heading of a point, in both languages. @param {string} point */
function pointName(point) {
  const heading = templateOf(point)?.content.querySelector("h2");
  const name = new DocumentFragment();
  if (heading) name.append(...[...heading.childNodes].map((node) => node.cloneNode(true)));
  else name.append(point);
  return name;
}

/** The words of a choice of this page, so that a list says it in the same ones. @param {string} selector */
const wordsOf = (selector) => document.querySelector(selector)?.textContent?.trim() ?? "";

/** All that the page shows from the records. */
export async function showOverview() {
  const events = await insist(() => eventsOfKinds([...WALK_KINDS, "eyewash_checked"]));
  one("#known-people").replaceChildren(...people().map((name) => new Option(name, name)));
  showWalks(events);
  showTrainings(events);
  showEyewash(events);
}

/** @param {TarewellEvent[]} events */
function showWalks(events) {
  const open = foldWalks(events).filter(({ signed, stopped, index, points }) => !signed || stopped || index < points.length);
  const place = one("[data-walks-in-hand]");
  place.hidden = open.length === 0;
  one("ul", place).replaceChildren(...open.map(({ begun, points, index, stopped }) => part("walk", {
    href: `#${begun.subject.slice("walk:".length)}`,
    helper: begun.helper ?? "",
    day: begun.local.slice(0, 10),
    progress: `${index} / ${points.length}`,
    stopped: Boolean(stopped),
  })));
}

/** @param {TarewellEvent[]} events */
function showTrainings(events) {
  const months = trainingMonths();
  const all = trainings(events, months);
  one("[data-training-empty]").hidden = all.length > 0;
  one("[data-months-missing]").hidden = months !== null;
  one("[data-trainings]").replaceChildren(...all.map((each) => {
    const entry = part("training", {
      helper: each.helper,
      guide: each.guide,
      day: each.day,
      until: each.until,
      over: each.until !== "" && each.until < today(),
      language: wordsOf(`label[for="show-${each.language}"]`),
      way: "",
      again: each.again.length > 0,
      initials: each.initials,
    });
    const way = document.querySelector(`input[name="way"][value="${each.way}"] + span`);
    entry.querySelector('[data-slot="way"]')?.append(...[...(way?.childNodes ?? [])].map((node) => node.cloneNode(true)));
    entry.querySelector("[data-list-phases]")?.append(...items(each.phases.map(phaseName)));
    entry.querySelector("[data-list-again]")?.append(...items(each.again.map(pointName)));
    showInitials(entry, each.path);
    return entry;
  }));
}

/** @param {TarewellEvent[]} events */
function showEyewash(events) {
  /** @type {string[]} */
  const due = [];
  for (const box of document.querySelectorAll(/** @type {"div"} */ ("[data-eyewash-check]"))) {
    const { eyewashCheck, days, months } = box.dataset;
    const last = events.filter(({ subject }) => subject === `eyewash:${eyewashCheck}`).at(-1);
    const day = last?.local.slice(0, 10) ?? "";
    const until = last ? (months ? monthsAfter(day, Number(months)) : daysAfter(day, Number(days))) : "";
    one('[data-state="never"]', box).hidden = Boolean(last);
    one('[data-state="last"]', box).hidden = !last;
    one('[data-state="over"]', box).hidden = !last || until >= today();
    fill(box, { day, until, person: last?.person ?? "" });
    if (until) due.push(daysAfter(until, 1));
  }
  mirrorEyewash(due.sort()[0] ?? "");
}

/** @param {string} name */
const typed = (name) => /** @type {HTMLInputElement} */ (document.querySelector(`[data-begin] input[name="${name}"]`)).value.trim();

/** What a walk is begun with; null, and said, while something is missing. @returns {TarewellEvent | null} */
export function walkBegun() {
  const [helper, guide] = [typed("helper"), typed("guide")];
  const chosen = (/** @type {string} */ name) =>
    [...document.querySelectorAll(/** @type {"input"} */ (`[data-safety] input[name="${name}"]:checked`))].map(({ value }) => value);
  const [way = ""] = chosen("way");
  const phases = chosen("phase");
  const complete = Boolean(helper && guide && way && phases.length > 0);
  one("[data-begin-problem]").hidden = complete;
  if (!complete) return null;
  const switchShown = one(".language").getClientRects().length > 0;
  const language = switchShown ? (chosen("language")[0] ?? "both") : "both";
  const { points, own } = pointsOf(phases);
  return newEvent("walk_begun", walkSubject(clock.uuid()), {
    helper, guide, language, way, phases, points, ...(own.length > 0 ? { own } : {}),
  });
}

/** @param {HTMLElement} button */
export async function eyewashChecked(button) {
  const box = /** @type {HTMLElement} */ (button.closest("[data-eyewash-check]"));
  const field = /** @type {HTMLInputElement} */ (box.querySelector("input"));
  const person = field.value.trim();
  one("[data-eyewash-problem]", box).hidden = person !== "";
  if (!person) return field.focus();
  await keep(newEvent("eyewash_checked", `eyewash:${button.dataset.which}`, { person }));
  field.value = "";
  await showOverview();
}
