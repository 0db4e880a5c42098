/** Starts the set-up: one question a screen, each stored when it is answered; what is typed and not stored waits as a draft. */

import { commit } from "../forms/commit.mjs";
import { Editor } from "../forms/editor.mjs";
import { followUnits } from "../forms/forms.mjs";
import { tapped, watchUsual } from "../forms/usual.mjs";
import { app, findItem, whyOff } from "../frame/app.mjs";
import { fault } from "../frame/notice.mjs";
import { word } from "../frame/words.mjs";
import { watchSettings } from "../records/settings.mjs";
import { startPage } from "./every.mjs";

/** @import { Item } from "../rules/types.mjs" */

const sections = [...document.querySelectorAll(/** @type {"section"} */ ("[data-question]"))];
const questions = sections.map(({ dataset }) => dataset.question ?? "");
const editors = new Map(
  sections.flatMap((section) => {
    const form = section.querySelector("form");
    return form ? [[section.dataset.question ?? "", new Editor(form)]] : [];
  }),
);
// Not blank: what it starts with stands in the built form.
const PLACE = { kind: "", id: "", copy: false, blank: false, key: "", puts: {} };
const stage = /** @type {HTMLElement} */ (document.querySelector("[data-setup]"));

/** Whether a question is answered: by its own item, or by one of its kind that was made elsewhere. @param {string} key */
function isAnswered(key) {
  if (key === "crew") return own("person").length > 0 && own("shop").length > 0;
  const kind = editors.get(key)?.kind ?? "";
  const others = own(kind).filter(({ id }) => !id.startsWith("setup-"));
  // Of two scales the floor scale is asked for first.
  return findItem(kind, `setup-${key}`) !== undefined || others.length > (key === "small" ? 1 : 0);
}

/** @param {string} kind @returns {Item[]} */
const own = (kind) => app.state[kind] ?? [];

/** What the address names, else the first question that has no answer yet. */
const named = () => {
  const asked = location.hash.slice(1);
  return questions.includes(asked) ? asked : (questions.find((key) => key !== "done" && !isAnswered(key)) ?? "done");
};

async function show(focus = true) {
  const key = named();
  for (const section of sections) section.hidden = section.dataset.question !== key;
  for (const [each, editor] of editors) if (each !== key) await editor.close();
  stage.dataset.ready = "";
  const editor = editors.get(key);
  if (editor) {
    await editor.open(PLACE);
    followUnits(editor.form, app.state.units ?? "metric");
    tapped(editor.form);
  } else tellStates();
  scrollTo(0, 0);
  if (focus) document.getElementById(`${key}-heading`)?.focus({ preventScroll: true });
}

function tellStates() {
  for (const place of document.querySelectorAll(/** @type {"span"} */ ("[data-state-of]"))) {
    place.textContent = word(isAnswered(place.dataset.stateOf ?? "") ? "setup-answered" : "setup-open");
  }
  const whole = questions.every((key) => key === "done" || key === "small" || isAnswered(key));
  for (const [part, shown] of [["[data-setup-whole]", whole], ["[data-setup-lacks]", !whole]]) {
    const place = document.querySelector(/** @type {"p"} */ (String(part)));
    if (place) place.hidden = !shown;
  }
}

const started = startPage({
  changed: () => {
    for (const editor of editors.values()) editor.refresh();
    if (named() === "done") tellStates();
  },
  pythonChanged: () => {
    for (const editor of editors.values()) if (whyOff() ? editor.isOpen : editor.reply?.off) editor.update();
  },
});
watchSettings(started);
await started;
for (const [key, editor] of editors) {
  watchUsual(editor.form);
  editor.form.addEventListener("submit", async (event) => {
    event.preventDefault();
    try {
      if (await commit(editor, null)) location.hash = `#${questions[questions.indexOf(key) + 1]}`;
    } catch (error) {
      fault(String(error), error instanceof Error ? (error.stack ?? "") : "");
    }
  });
}
addEventListener("hashchange", () => {
  if (questions.includes(location.hash.slice(1))) void show();
});
await show(false);
