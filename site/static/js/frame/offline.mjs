// The service worker, seen from a page: registered after the first answer, updated by the user's tap only.
import { ownHolds } from "../store/database.mjs";
import { blocksInHand } from "../store/events.mjs";
import { mode } from "../store/mode.mjs";
import { exercise, settled } from "./python.mjs";
import { scriptURL } from "./trusted.mjs";

const root = document.documentElement;
/** What the service worker is told and asked, and its answers. */
const USE = "skip-waiting";
const IN_USE_ASKED = "in-use?";
const IN_USE = "in-use";
const NOT_IN_USE = "not-in-use";
const LOOK_AGAIN = "look-again";
const LOOKED = "looked";
const EXERCISED = "tarewell-exercised";
const EXERCISE_AFTER_MS = 2_000;
const AGAIN_MS = 1_000;
/** A browser lets the old worker stay as long as it has anything to answer, and Chromium up to five minutes: then the old one is told
 * to show the new build. */
const CHANGE_WITHIN_MS = 1_000;
/** The build that a tap would bring. @type {ServiceWorker | null} */
let waiting = null;
/** Whether a block is begun and not closed, on whatever page it is weighed. */
let inHand = true;

const mayUpdate = () => waiting !== null && !inHand && root.dataset["busy"] === undefined;

const button = /** @type {HTMLButtonElement | null} */ (document.querySelector("#update-bar button"));

/** The bar shows when a new build lies ready and nobody is in the middle of something. */
function show() {
  const bar = document.getElementById("update-bar");
  if (bar) bar.hidden = !mayUpdate();
}

/** Whether it could be told. While it can't, nothing is offered. */
async function lookAtBlocks() {
  const here = blocksInHand(1).then((blocks) => blocks.length > 0);
  // A page of practice must not disturb a block of one's own in another tab.
  const there = mode === "practice" && ownHolds("blocks");
  const found = await Promise.all([here, there]).then((each) => each.includes(true), () => null);
  inHand = found ?? true;
  show();
  return found !== null;
}

/** A store that is slow just now is asked again, so that neither the bar nor a tap on it is lost. */
async function lookUntilTold() {
  while (!(await lookAtBlocks())) await new Promise((resolve) => setTimeout(resolve, AGAIN_MS));
}

/** @param {ServiceWorkerRegistration} registration */
function watch(registration) {
  const ours = `tarewell ${new URL(registration.scope).pathname} `;
  const look = async () => {
    // An active worker proves nothing: it may be the kill switch. Only a stored build works with no network.
    const kept = registration.active !== null && (await caches.keys()).some((name) => name.startsWith(ours));
    // Where no build is stored the one that waits is the first, and so no update.
    waiting = kept ? registration.waiting : null;
    // The browser may have started it by itself while the app was closed; its pages still wait for the tap. And one whose
    // tap came may still wait for an older worker to end.
    if (kept) (waiting ?? registration.active)?.postMessage(IN_USE_ASKED);
    void lookUntilTold();
    // While one is being stored its cache is there, but not whole.
    if (!registration.installing) root.dataset["offline"] = kept || registration.waiting ? "ready" : "off";
    show();
  };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
  registration.installing?.addEventListener("statechange", look);
  navigator.serviceWorker.addEventListener("message", ({ data, source }) => {
    if (data === NOT_IN_USE && source === registration.active && !waiting) waiting = registration.active;
    if (data === IN_USE && source === waiting) waiting = null;
    show();
  });
  look();
}

async function update() {
  if (button) button.disabled = true;
  await lookUntilTold();
  const next = waiting;
  if (!next || !mayUpdate()) {
    if (button) button.disabled = false;
    return;
  }
  const reload = () => location.reload();
  const old = navigator.serviceWorker.controller;
  // A worker that controls this page already raises no controllerchange.
  const goOver = () => (old && old !== next ? old.postMessage(LOOK_AGAIN) : reload());
  navigator.serviceWorker.addEventListener("controllerchange", reload, { once: true });
  navigator.serviceWorker.addEventListener("message", ({ data, source }) => {
    if (data === IN_USE && source === next) setTimeout(goOver, old === next ? 0 : CHANGE_WITHIN_MS);
    if (data === LOOKED && source === old) reload();
  });
  next.postMessage(USE);
}

/** Once for each build, on a visit from the stored copy. A browser keeps compiled code with the response it came from, and
 * only when enough of it has run. */
function exerciseOnce() {
  const build = new URL("../..", import.meta.url).pathname;
  try {
    if (localStorage.getItem(EXERCISED) === build) return;
    localStorage.setItem(EXERCISED, build);
  } catch {
    return;
  }
  setTimeout(exercise, EXERCISE_AFTER_MS);
}

async function register() {
  // A page that came from the cache has its worker already: say so at once, look for updates later.
  const script = new URL("../../../service-worker.js", import.meta.url);
  const nearest = await navigator.serviceWorker.getRegistration();
  // The nearest one may be another installation's: ours may lie inside its folder.
  const known = nearest?.scope === new URL(".", script).href ? nearest : undefined;
  if (known) watch(known);
  await settled;
  if (known) exerciseOnce();
  const registration = await navigator.serviceWorker.register(scriptURL(script), { updateViaCache: "none" });
  if (!known) watch(registration);
}

new MutationObserver(() => void lookUntilTold()).observe(root, { attributeFilter: ["data-busy"] });
button?.addEventListener("click", update);
if ("serviceWorker" in navigator) {
  register().catch((error) => {
    // Private windows and plain http refuse it: the app works, only not without the server.
    root.dataset["offline"] = "off";
    console.info(`No offline copy: ${error}`);
  });
} else {
  root.dataset["offline"] = "off";
}
