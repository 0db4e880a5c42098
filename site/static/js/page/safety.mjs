/** Starts the safety walk: the overview, or the walk that the address names. No Python is needed. */

import { start } from "./app.mjs";
import { fault } from "./notice.mjs";
import { watchAloud } from "./safety/aloud.mjs";
import { eyewashChecked, showOverview, walkBegun } from "./safety/overview.mjs";
import { Walk } from "./safety/walk.mjs";
import { keep } from "./saved.mjs";
import { Stage } from "./scale/stage.mjs";
import { onHere, onOthers } from "./tabs.mjs";

const root = /** @type {HTMLElement} */ (document.querySelector("[data-safety]"));
const place = /** @type {HTMLElement} */ (root.querySelector("[data-stage]"));
const overview = /** @type {HTMLElement} */ (root.querySelector("[data-overview]"));
const leave = /** @type {HTMLElement} */ (root.querySelector("[data-leave]"));

/** @type {Walk | null} */
let walk = null;

/** @param {unknown} error */
const failed = (error) => fault(String(error), error instanceof Error ? (error.stack ?? "") : "");

const stage = new Stage(
  root,
  async (action, button) => {
    if (action === "begin") return begin();
    if (action === "eyewash") return eyewashChecked(button);
    if (action === "all-phases") {
      for (const box of root.querySelectorAll(/** @type {"input"} */ ('input[name="phase"]'))) box.checked = true;
      return;
    }
    await walk?.act(action);
  },
  failed,
);

async function begin() {
  const begun = walkBegun();
  if (!begun) return;
  await keep(begun, null);
  location.hash = begun.subject.slice("walk:".length);
}

/** What the address names: "#main" is the page's own place. */
const named = () => (document.getElementById(location.hash.slice(1)) ? "" : decodeURIComponent(location.hash.slice(1)));

const toldAloud = watchAloud(root, place, /** @type {HTMLElement} */ (root.querySelector("[data-aloud-button]")));

async function open() {
  const id = named();
  if (walk) walk.open = false;
  walk = id ? new Walk(stage, id) : null;
  place.hidden = !walk;
  overview.hidden = Boolean(walk);
  leave.hidden = !walk;
  if (walk) await walk.show();
  else await showOverview();
  toldAloud();
  if (root.dataset.ready === undefined) return;
  scrollTo(0, 0);
  /** @type {HTMLElement | null} */ (walk ? stage.find("h2") : null)?.focus({ preventScroll: true });
}

/** Something has been stored elsewhere. */
const others = () => (walk ? walk.show() : showOverview());

const guarded = (/** @type {() => Promise<void> | void} */ work) => () => void Promise.resolve(work()).catch(failed);

addEventListener("hashchange", guarded(open));
addEventListener("pageshow", (event) => {
  if (event.persisted) guarded(others)();
});
onOthers(guarded(others));
onHere(guarded(others));
await start();
await open().catch(failed);
root.dataset.ready = "";
