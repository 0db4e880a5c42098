/** Starts the pages with forms and answers. What needs no Python starts in records.mjs. */

import { onLetGo } from "../store/database.mjs";
import { watchActions } from "../forms/actions.mjs";
import { question, reload, start, watchPython, whyOff } from "../frame/app.mjs";
import { commit } from "../forms/commit.mjs";
import { Editor } from "../forms/editor.mjs";
import { watchEyewash } from "../safety/eyewash_state.mjs";
import { fault, notice } from "../frame/notice.mjs";
import { readPlace } from "../forms/place.mjs";
import { Regions } from "../frame/regions.mjs";
import { onHere, onOthers } from "../frame/tabs.mjs";
import { watchUnread } from "../frame/unread.mjs";

const forms = [...document.querySelectorAll(/** @type {"form"} */ ("form[data-task]"))];
const editors = forms.map((form) => new Editor(form));
const kinds = editors.flatMap(({ section }) => section?.dataset.kind ?? []);

/** The regions that show the workshop itself, by the task that fills them. @type {Map<string, Regions>} */
const standing = new Map();
for (const place of document.querySelectorAll(/** @type {"div"} */ ("[data-ask]"))) {
  const task = place.dataset.ask ?? "";
  standing.set(task, new Regions([...(standing.get(task)?.places ?? []), place]));
}

async function showStanding() {
  for (const [task, regions] of standing) {
    regions.busy();
    const reply = await question(task, {});
    if (reply?.off) regions.off(reply.off, false);
    else if (reply?.fault !== undefined) fault(reply.fault, reply.report ?? "");
    if (reply && !reply.off) regions.show(reply.html ?? {}, reply.ok === true);
  }
}

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

async function changed() {
  await reload();
  for (const editor of editors) editor.refresh();
  await showStanding();
}

for (const editor of editors) {
  editor.form.addEventListener("submit", (event) => {
    event.preventDefault();
    commit(editor).catch((error) => fault(String(error), error.stack));
  });
}
watchUnread();
watchEyewash();
onLetGo((gone) => (gone ? void changed() : notice("newer-open")));
await start();
watchActions(editors, changed);
watchPython(() => {
  if (whyOff()) for (const editor of editors) editor.show({ off: whyOff() });
  else for (const editor of editors) if (editor.reply?.off) editor.update();
});
onOthers(() => void changed());
onHere(() => void changed());
addEventListener("hashchange", () => {
  if (!isAnchor()) void openPlace();
});
// A page that comes back from the browser's memory may have missed what others stored.
addEventListener("pageshow", (event) => {
  if (event.persisted) void changed();
});
await Promise.all([openPlace(), showStanding()]);
