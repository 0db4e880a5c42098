import { keep } from "../frame/saved.mjs";
import { fill } from "../frame/stage.mjs";
import { untilRead } from "../frame/unread.mjs";
import { isDay, worstOf } from "../rules/eyewash.mjs";
import { dayOn, localTime } from "../store/clock.mjs";
import { newEvent } from "../store/events.mjs";
import { readEyewash } from "./eyewash_state.mjs";
import { Typed } from "./typed.mjs";

/** As long as a tap that was on its way may still come. */
const STRAY_TAPS_MS = 300;

const FOUND = ["order", "way_free", "tepid"];

/** @returns {HTMLElement[]} */
const boxes = () => [...document.querySelectorAll(/** @type {"div"} */ ("[data-eyewash-check]"))];

/** @type {Map<HTMLElement, Promise<Typed>>} */
const typed = new Map();

/** @param {HTMLElement} box @param {string} name */
const field = (box, name) => /** @type {HTMLInputElement} */ (box.querySelector(`input[data-part="${name}"]`));

/** Puts back what was typed today, and hears what will be. @param {HTMLElement} box */
async function ready(box) {
  const mine = new Typed(box, `safety:eyewash:${box.dataset.eyewashCheck}`);
  const day = field(box, "day");
  if (await mine.load((at) => localTime(Date.parse(at)).slice(0, 10) === dayOn())) box.dataset.begun = dayOn();
  if (day.value && day.value !== dayOn()) box.dataset.daySaid = "";
  box.addEventListener("input", ({ target }) => {
    box.dataset.begun ??= dayOn();
    if (target === day) box.dataset.daySaid = "";
    sayKept(box, false);
  });
  return mine;
}

/** The day is today until somebody types another. Answers from a day that is over go: they were about that day's water. @param {HTMLElement} box */
async function renew(box) {
  await typed.get(box);
  if (box.dataset.begun && box.dataset.begun !== dayOn()) await wipe(box);
  field(box, "day").max = dayOn();
  if (box.dataset.daySaid === undefined) field(box, "day").value = dayOn();
}

/** Nothing is typed there any more. @param {HTMLElement} box */
async function wipe(box) {
  for (const input of box.querySelectorAll("input")) {
    if (input.type === "radio") input.checked = false;
    else input.value = "";
  }
  delete box.dataset.begun;
  delete box.dataset.daySaid;
  await (await typed.get(box))?.forget();
}

/** @param {HTMLElement} box @param {boolean} kept */
const sayKept = (box, kept) => (/** @type {HTMLElement} */ (box.querySelector("[data-eyewash-kept]")).hidden = !kept);

document.addEventListener("visibilitychange", () => {
  if (document.visibilityState === "visible") for (const box of typed.keys()) void renew(box);
});

/** Shows what the records say of the eyewash, here and on the emergency card. */
export async function showEyewash() {
  const checks = await untilRead(readEyewash);
  for (const box of boxes()) {
    const { eyewashCheck } = box.dataset;
    const check = eyewashCheck === "yearly" ? checks.yearly : checks.weekly;
    for (const line of box.querySelectorAll(/** @type {"p"} */ ("[data-state]"))) {
      line.hidden = !(line.dataset.state ?? "").split(" ").includes(check.state);
    }
    fill(box, { day: check.day, until: check.until, person: check.person });
    box.dataset.now = check.state;
    if (!typed.has(box)) typed.set(box, ready(box));
    await renew(box);
  }
  const worst = worstOf(Object.values(checks)).state;
  for (const line of document.querySelectorAll(/** @type {"p"} */ ("[data-eyewash-loud]"))) line.hidden = line.dataset.eyewashLoud !== worst;
}

/** Puts the checks where a point of a walk asks for them: what is missing is recorded there and then. @param {ParentNode} screen */
export const tellEyewash = (screen) => screen.querySelector("[data-eyewash-here]")?.append(...boxes());

/** Called before a walk's screen goes: the checks were moved into it, and would go with it. */
export function takeEyewashBack() {
  const home = document.querySelector("[data-eyewash]");
  for (const box of boxes()) if (box.parentElement !== home) home?.append(box);
}

/** Whoever taps down a list taps on before it is seen that something has opened there: such taps are no answers. @param {HTMLElement} opened */
function shield(opened) {
  opened.inert = true;
  setTimeout(() => (opened.inert = false), STRAY_TAPS_MS);
}

/** Whether a "yes" may be given: on a screen that asks about the eyewash, not against the records. Says why not. @param {ParentNode} screen */
export async function eyewashAllows(screen) {
  const problem = /** @type {HTMLElement | null} */ (screen.querySelector("[data-eyewash-first]"));
  if (!problem) return true;
  await showEyewash();
  const missing = boxes().filter(({ dataset }) => dataset.now !== "held");
  const [due] = missing;
  problem.hidden = !due;
  for (const name of problem.querySelectorAll(/** @type {"strong"} */ ("[data-eyewash-of]"))) {
    name.hidden = !missing.some(({ dataset }) => dataset.eyewashCheck === name.dataset.eyewashOf);
  }
  if (due) {
    const here = /** @type {HTMLElement} */ (screen.querySelector("[data-eyewash-here]"));
    const form = /** @type {HTMLDetailsElement} */ (due.querySelector("details"));
    // Below the button nothing moves under the finger; where the question stands above it, it has to be brought into sight.
    if (!(screen instanceof HTMLLIElement)) problem.scrollIntoView();
    else if (here.hidden || !form.open) shield(here);
    here.hidden = false;
    form.open = true;
  }
  return !due;
}

/** @param {HTMLElement} button */
export async function eyewashChecked(button) {
  const box = /** @type {HTMLElement} */ (button.closest("[data-eyewash-check]"));
  await renew(box);
  const person = field(box, "person").value.trim();
  const day = field(box, "day").value;
  const found = Object.fromEntries(
    FOUND.map((part) => [part, box.querySelector(/** @type {"input"} */ (`input[data-part="${part}"]:checked`))?.value ?? ""]),
  );
  const complete = person !== "" && isDay(day) && day <= dayOn() && FOUND.every((part) => found[part]);
  /** @type {HTMLElement} */ (box.querySelector("[data-eyewash-problem]")).hidden = complete;
  if (!complete) return;
  await keep(newEvent("eyewash_checked", `eyewash:${box.dataset.eyewashCheck}`, { person, day, ...found }));
  await wipe(box);
  sayKept(box, true);
  const form = /** @type {HTMLDetailsElement} */ (box.querySelector("details"));
  form.open = false;
  form.querySelector("summary")?.focus();
  const problem = /** @type {HTMLElement | null} */ (document.querySelector("[data-stage] [data-eyewash-first]"));
  if (problem) problem.hidden = true;
  await showEyewash();
}
