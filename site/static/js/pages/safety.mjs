/** Starts the safety walk: the overview, or the walk that the address names. No Python is needed. */

import { decoded } from "../frame/address.mjs";
import { reload, start } from "../frame/app.mjs";
import { fault } from "../frame/notice.mjs";
import { fill, Stage } from "../frame/stage.mjs";
import { onStored } from "../frame/tabs.mjs";
import { wayBack } from "../frame/way_back.mjs";
import { walkSubject } from "../rules/walk.mjs";
import { watchAloud } from "../safety/aloud.mjs";
import { begin, chooseAllPhases } from "../safety/begin.mjs";
import { beginDaily } from "../safety/daily.mjs";
import { eyewashChecked, showEyewash } from "../safety/eyewash.mjs";
import { keepLanguage } from "../safety/language.mjs";
import { showLimits } from "../safety/limits.mjs";
import { showOverview } from "../safety/overview.mjs";
import { Walk } from "../safety/walk.mjs";
import { startPage } from "./every.mjs";

const root = /** @type {HTMLElement} */ (document.querySelector("[data-safety]"));
const place = /** @type {HTMLElement} */ (root.querySelector("[data-stage]"));
const overview = /** @type {HTMLElement} */ (root.querySelector("[data-overview]"));
const back = /** @type {HTMLAnchorElement} */ (root.querySelector("[data-way-back]"));
const leave = /** @type {HTMLElement} */ (root.querySelector("[data-leave]"));
const language = /** @type {HTMLElement} */ (root.querySelector(".language"));

/** @type {Walk | null} */
let walk = null;

/** The walk to which Begin has led, for a stop in it is open. @type {string | undefined} */
let olderStop;

/** @param {unknown} error */
const failed = (error) => fault(String(error), error instanceof Error ? (error.stack ?? "") : "");

const stage = new Stage(
  root,
  async (action, button) => {
    if (action === "eyewash") return eyewashChecked(button);
    if (action === "all-phases") return chooseAllPhases();
    if (action !== "begin" && action !== "daily") return walk?.act(action, button);
    const { subject, older } = (await (action === "daily" ? beginDaily() : begin())) ?? {};
    olderStop = older ? subject : undefined;
    if (subject) location.hash = subject.slice("walk:".length);
  },
  failed,
);

/** What the address names: "#main" is the page's own place. */
const named = () => (document.getElementById(location.hash.slice(1)) ? "" : decoded(location.hash.slice(1)));

const toldAloud = watchAloud(root, place, /** @type {HTMLElement} */ (root.querySelector("[data-aloud-button]")));

async function open() {
  const id = named();
  // The address names a place of the page itself. What is shown stays, and a walk gets its own address back.
  if (root.dataset.ready !== undefined && !id && location.hash) {
    return walk ? history.replaceState(null, "", `#${walk.id}`) : undefined;
  }
  walk?.leave();
  stage.clear();
  showLimits(overview);
  await showEyewash();
  walk = id ? new Walk(stage, id, olderStop === walkSubject(id)) : null;
  place.hidden = !walk;
  overview.hidden = Boolean(walk);
  leave.hidden = !walk;
  // Inside a walk the point comes first, whatever the size of the text.
  /** @type {HTMLElement} */ (root.querySelector(walk ? ".walk-tools" : "h1")).before(language);
  if (walk) await walk.show();
  else await showOverview();
  toldAloud();
  // A walk begins with its heading, after a reload too; the overview comes back to where it was.
  history.scrollRestoration = walk ? "manual" : "auto";
  if (!walk && root.dataset.ready === undefined) return;
  scrollTo(0, 0);
  /** @type {HTMLElement | null} */ (walk ? stage.find("h2") : null)?.focus({ preventScroll: true });
}

/** Something has been stored elsewhere: it may be the workshop's own limits. */
async function others() {
  await reload();
  showLimits(root);
  await showEyewash();
  await (walk ? walk.others() : showOverview());
}

const guarded = (/** @type {() => Promise<void> | void} */ work) => () => void Promise.resolve(work()).catch(failed);

void startPage();
addEventListener("hashchange", guarded(open));
onStored(guarded(others));
const from = wayBack();
back.hidden = !from;
if (from) {
  back.href = from.to;
  fill(back, { where: from.where });
}
await start();
keepLanguage(root);
await open().catch(failed);
root.dataset.ready = "";
