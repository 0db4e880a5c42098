import { clock, localTime } from "../../store/clock.mjs";
import { newEvent } from "../../store/events.mjs";
import { isDay, worstOf } from "../../store/eyewash.mjs";
import { readEyewash } from "../eyewash.mjs";
import { insist, keep } from "../saved.mjs";
import { fill } from "../scale/stage.mjs";
import { Typed } from "./typed.mjs";

const FOUND = ["order", "way_free", "tepid"];

/** @returns {HTMLElement[]} */
const boxes = () => [...document.querySelectorAll(/** @type {"div"} */ ("[data-eyewash-check]"))];

const today = () => localTime(clock.now()).slice(0, 10);

/** @type {Map<HTMLElement, Typed>} */
const typed = new Map();

/** @param {HTMLElement} box @param {string} name */
const field = (box, name) => /** @type {HTMLInputElement} */ (box.querySelector(`input[data-part="${name}"]`));

/** The day is today's until somebody says another. @param {HTMLElement} box */
const untouched = (box) => {
  field(box, "day").max = today();
  field(box, "day").value ||= today();
};

/** Shows what the records say of the eyewash, here and on the emergency card. */
export async function showEyewash() {
  const checks = await insist(readEyewash);
  for (const box of boxes()) {
    const { eyewashCheck } = box.dataset;
    const check = eyewashCheck === "yearly" ? checks.yearly : checks.weekly;
    for (const line of box.querySelectorAll(/** @type {"p"} */ ("[data-state]"))) {
      line.hidden = !(line.dataset.state ?? "").split(" ").includes(check.state);
    }
    fill(box, { day: check.day, until: check.until, person: check.person });
    if (!typed.has(box)) {
      typed.set(box, new Typed(box, `safety:eyewash:${eyewashCheck}`));
      await typed.get(box)?.load();
    }
    untouched(box);
  }
  const worst = worstOf(Object.values(checks)).state;
  for (const line of document.querySelectorAll(/** @type {"p"} */ ("[data-eyewash-loud]"))) line.hidden = line.dataset.eyewashLoud !== worst;
}

/** Puts what is known of the eyewash where a point of a walk asks for it. @param {ParentNode} screen */
export function tellEyewash(screen) {
  const place = screen.querySelector("[data-eyewash-here]");
  if (!place) return;
  for (const box of boxes()) {
    const lines = box.querySelectorAll("h3, [data-state]:not([hidden])");
    place.append(...[...lines].map((line) => line.cloneNode(true)));
  }
}

/** @param {HTMLElement} button */
export async function eyewashChecked(button) {
  const box = /** @type {HTMLElement} */ (button.closest("[data-eyewash-check]"));
  const person = field(box, "person").value.trim();
  const day = field(box, "day").value;
  const found = Object.fromEntries(
    FOUND.map((part) => [part, box.querySelector(/** @type {"input"} */ (`input[data-part="${part}"]:checked`))?.value ?? ""]),
  );
  const complete = person !== "" && isDay(day) && day <= today() && FOUND.every((part) => found[part]);
  /** @type {HTMLElement} */ (box.querySelector("[data-eyewash-problem]")).hidden = complete;
  if (!complete) return;
  await keep(newEvent("eyewash_checked", `eyewash:${box.dataset.eyewashCheck}`, { person, day, ...found }));
  await typed.get(box)?.drop();
  typed.delete(box);
  for (const input of box.querySelectorAll("input")) {
    if (input.type === "radio") input.checked = false;
    else input.value = "";
  }
  await showEyewash();
}
