/** The list of what is kept up: what is due stands first, each task opens to its danger, its steps and its deed. */

import { decoded } from "../frame/address.mjs";
import { app } from "../frame/app.mjs";
import { screen } from "../frame/stage.mjs";
import { dayWords, whenWords } from "../frame/when.mjs";
import { SHOWN } from "../rules/upkeep.mjs";
import { dayOn } from "../store/clock.mjs";
import { readUpkeep, titleOf } from "./told.mjs";

/** @import { TarewellEvent } from "../rules/types.mjs" */
/** @import { Kept } from "../rules/upkeep.mjs" */

/** How the place of a task in the page begins; the address names the task alone. */
const PLACE = "upkeep-";

const form = () => /** @type {HTMLElement} */ (document.querySelector("[data-upkeep]"));

/** A usual task's place in the page. @param {string} id @returns {HTMLElement | null} */
const usual = (id) => form().querySelector(`[data-usual="${CSS.escape(id)}"]`);

/** Draws the list anew; what stood open stays open, and what was typed there stays. */
export async function showUpkeep() {
  const kept = await readUpkeep();
  const place = /** @type {HTMLElement} */ (form().querySelector("[data-upkeep-kept]"));
  const open = new Set([...place.querySelectorAll("details[open]")].map(({ id }) => id));
  const typed = new Map([...place.querySelectorAll("textarea")].map((field) => [field.closest("details")?.id, field.value]));
  place.replaceChildren(...kept.map(row));
  for (const details of place.querySelectorAll("details")) {
    details.open = open.has(details.id);
    const field = details.querySelector("textarea");
    if (field) field.value = typed.get(details.id) ?? "";
  }
  /** @type {HTMLElement} */ (form().querySelector("[data-upkeep-none]")).hidden = kept.length > 0;
  const ids = new Set(kept.map(({ id }) => id));
  for (const each of form().querySelectorAll(/** @type {"li"} */ ("[data-usual]"))) each.hidden = ids.has(each.dataset.usual ?? "");
  /** @type {HTMLElement} */ (form().querySelector("[data-upkeep-usual]")).hidden = [...form().querySelectorAll(/** @type {"li"} */ ("[data-usual]"))].every(({ hidden }) => hidden);
}

/** @param {Kept} task */
function row({ id, values, log, faults, last, did, day, made, blocks, state }) {
  const steps = (values.steps ?? "").split("\n").filter((line) => line.trim() !== "");
  const part = screen("upkeep-task", {
    title: titleOf(id, values.name ?? ""),
    [state]: true,
    day: day && dayWords(day, dayOn()),
    made: String(made ?? ""),
    blocks: blocks || "",
    danger: values.danger,
    steps: steps.length > 0,
    last: last && did && dayWords(last, dayOn()),
    since: last && !did && dayWords(last, dayOn()),
    never: last === "",
    edit: `${form().dataset.editUrl}#upkeep/${encodeURIComponent(id)}`,
  });
  const details = /** @type {HTMLDetailsElement} */ (part.querySelector("details"));
  details.id = PLACE + id;
  details.dataset.task = id;
  part.querySelector("li")?.toggleAttribute("data-alarm", state === "fault" || state === "over");
  const work = usual(id)?.querySelector("[data-usual-work]");
  if (work) part.querySelector("[data-work]")?.append(...[...work.cloneNode(true).childNodes]);
  part.querySelector('[data-list="steps"]')?.append(...steps.map((step) => screen("upkeep-step", { step })));
  part.querySelector('[data-list="faults"]')?.append(...faults.map(fault));
  part.querySelector('[data-list="log"]')?.append(...log.slice(0, SHOWN).map(entry));
  return part;
}

/** @param {TarewellEvent} event */
function fault({ id, local, person, found }) {
  const part = screen("upkeep-fault", { found, person, day: dayWords(local.slice(0, 10), dayOn()) });
  /** @type {HTMLElement} */ (part.querySelector("button")).dataset.upkeepMended = id;
  return part;
}

/** @param {TarewellEvent} event */
function entry({ id, kind, local, person, found }) {
  const part = screen("upkeep-entry", { when: whenWords(local), person, mended: kind === "upkeep_mended", done: kind === "upkeep_done", found });
  /** @type {HTMLElement} */ (part.querySelector("button")).dataset.upkeepBack = id;
  return part;
}

/** What a usual task begins with in a workshop's list. @param {string} key */
export function startOf(key) {
  const every = JSON.parse(usual(key)?.dataset.every ?? "{}");
  return { name: titleOf(key, ""), ...every, counts_from: dayOn() };
}

/** Opens the task that the address names. */
export function openNamed() {
  const named = document.getElementById(PLACE + decoded(location.hash.slice(1)));
  if (!(named instanceof HTMLDetailsElement)) return;
  named.open = true;
  named.scrollIntoView();
}

/** The newest event of a task's item, null where it has none. @param {string} id */
export const headOf = (id) => app.heads.get(`upkeep:${id}`) ?? null;
