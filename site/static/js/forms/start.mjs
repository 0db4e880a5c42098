/** A page with forms: each is opened at what the address names, and answered while it is filled in. */

import { commit } from "./commit.mjs";
import { Editor } from "./editor.mjs";
import { openOnWide } from "./folds.mjs";
import { sayIssuedToday } from "./issued_today.mjs";
import { watchLacks } from "./lacks.mjs";
import { readPlace } from "./place.mjs";
import { watchRemoval } from "./removal.mjs";
import { offerPeople, proposePerson } from "./who.mjs";
import { whyOff } from "../frame/app.mjs";
import { watchMeasures } from "../frame/measures.mjs";
import { fault } from "../frame/notice.mjs";

/** @import { Place } from "./place.mjs" */

/**
 * @param {(page: {changed: () => void, pythonChanged: () => void}) => Promise<() => Promise<void>>} startPage What every page starts.
 * @param {(place: Place) => Promise<void>} [ahead] What has to be read before a place is opened.
 * @returns {Promise<() => void>} What lets lists and answers follow, once the workshop has been read again.
 */
export async function startForms(startPage, ahead = async () => {}) {
  const forms = [...document.querySelectorAll(/** @type {"form"} */ ("form[data-task]"))];
  const editors = forms.map((form) => new Editor(form));
  const kinds = editors.flatMap(({ section }) => section?.dataset.kind ?? []);

  let turn = 0;
  const openPlace = async () => {
    const place = readPlace(isAnchor() ? "" : location.hash, kinds);
    const mine = ++turn;
    await ahead(place);
    if (mine !== turn) return;
    const kind = place.kind || kinds[0];
    for (const editor of editors) {
      const shown = !editor.section || editor.section.dataset.kind === kind;
      if (editor.section) editor.section.hidden = !shown;
      if (shown) await editor.open(place);
      else await editor.close();
    }
  };

  const changed = () => {
    offerPeople();
    for (const editor of editors) editor.refresh();
    for (const form of forms) void sayIssuedToday(form);
  };

  const pythonChanged = () => {
    if (whyOff()) for (const editor of editors) editor.show({ off: whyOff() });
    else for (const editor of editors) if (editor.reply?.off) editor.update();
  };

  for (const editor of editors) {
    editor.form.addEventListener("submit", (event) => {
      event.preventDefault();
      commit(editor, event.submitter).catch((error) => fault(String(error), error.stack));
    });
  }
  watchLacks();
  watchMeasures();
  watchRemoval(editors, await startPage({ changed, pythonChanged }));
  addEventListener("hashchange", () => {
    if (!isAnchor()) void openPlace();
  });
  openOnWide();
  offerPeople();
  await openPlace();
  for (const form of forms) {
    form.addEventListener("input", () => void sayIssuedToday(form));
    void sayIssuedToday(form);
  }
  await proposePerson();
  return changed;
}

/** Whether the address's #part is a place on this page ("Skip to the page"), not something to edit. */
const isAnchor = () => document.getElementById(location.hash.slice(1))?.matches(":not([data-kind])") ?? false;
