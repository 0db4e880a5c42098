/** Starts a page with forms: each is opened at what the address names, and answered while it is filled in. */

import { commit } from "../forms/commit.mjs";
import { Editor } from "../forms/editor.mjs";
import { openOnWide } from "../forms/folds.mjs";
import { watchLacks } from "../forms/lacks.mjs";
import { readPlace } from "../forms/place.mjs";
import { watchRemoval } from "../forms/removal.mjs";
import { offerPeople, proposePerson } from "../forms/who.mjs";
import { whyOff } from "../frame/app.mjs";
import { fault } from "../frame/notice.mjs";
import { startPage } from "./every.mjs";

const forms = [...document.querySelectorAll(/** @type {"form"} */ ("form[data-task]"))];
const editors = forms.map((form) => new Editor(form));
const kinds = editors.flatMap(({ section }) => section?.dataset.kind ?? []);

/** Whether the address's #part is a place on this page ("Skip to the page"), not something to edit. */
const isAnchor = () => document.getElementById(location.hash.slice(1))?.matches(":not([data-kind])") ?? false;

async function openPlace() {
  const place = readPlace(isAnchor() ? "" : location.hash, kinds);
  const kind = place.kind || kinds[0];
  for (const editor of editors) {
    const shown = !editor.section || editor.section.dataset.kind === kind;
    if (editor.section) editor.section.hidden = !shown;
    if (shown) await editor.open(place);
    else await editor.close();
  }
}

/** The workshop has been read again: lists and answers follow. */
export function changed() {
  offerPeople();
  for (const editor of editors) editor.refresh();
}

function pythonChanged() {
  if (whyOff()) for (const editor of editors) editor.show({ off: whyOff() });
  else for (const editor of editors) if (editor.reply?.off) editor.update();
}

for (const editor of editors) {
  editor.form.addEventListener("submit", (event) => {
    event.preventDefault();
    commit(editor, event.submitter).catch((error) => fault(String(error), error.stack));
  });
}
watchLacks();
watchRemoval(editors, await startPage({ changed, pythonChanged }));
addEventListener("hashchange", () => {
  if (!isAnchor()) void openPlace();
});
openOnWide();
offerPeople();
await openPlace();
await proposePerson();
