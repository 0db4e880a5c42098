// The service worker, seen from a page: registered after the first answer, updated by the user's tap only.
import { exercise, settled } from "./python.mjs";
import { scriptURL } from "./trusted.mjs";

const root = document.documentElement;
const EXERCISED = "tarewell-exercised";
const EXERCISE_AFTER_MS = 2_000;
/** @type {ServiceWorker | null} */
let waiting = null;

/** The bar shows when a new build lies ready and nobody is in the middle of something. */
function show() {
  const bar = document.getElementById("update-bar");
  if (bar) bar.hidden = !waiting || root.dataset["busy"] !== undefined;
}

/** @param {ServiceWorkerRegistration} registration */
function watch(registration) {
  const ours = `tarewell ${new URL(registration.scope).pathname} `;
  const look = async () => {
    // An active worker alone proves nothing, since it may be the kill switch: only a stored build works with no network.
    const kept = registration.active !== null && (await caches.keys()).some((name) => name.startsWith(ours));
    // Without a stored build the one that waits is the first: nothing to update from.
    waiting = kept ? registration.waiting : null;
    // While one is being stored its cache is there, but not whole.
    if (!registration.installing) root.dataset["offline"] = kept || registration.waiting ? "ready" : "off";
    show();
  };
  registration.addEventListener("updatefound", () => registration.installing?.addEventListener("statechange", look));
  registration.installing?.addEventListener("statechange", look);
  look();
}

function update() {
  if (!waiting || root.dataset["busy"] !== undefined) return;
  navigator.serviceWorker.addEventListener("controllerchange", () => location.reload(), { once: true });
  waiting.postMessage("skip-waiting");
}

/** Once a build, on a visit that came from the stored copy: compiled code is kept with the response it came from. */
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
  // The nearest one may be another installation's, in whose folder ours lies.
  const known = nearest?.scope === new URL(".", script).href ? nearest : undefined;
  if (known) watch(known);
  await settled;
  if (known) exerciseOnce();
  const registration = await navigator.serviceWorker.register(scriptURL(script), { updateViaCache: "none" });
  if (!known) watch(registration);
}

new MutationObserver(show).observe(root, { attributeFilter: ["data-busy"] });
document.querySelector("#update-bar button")?.addEventListener("click", update);
if ("serviceWorker" in navigator) {
  register().catch((error) => {
    // Private windows and plain http refuse it: the app works, only not without the server.
    root.dataset["offline"] = "off";
    console.info(`No offline copy: ${error}`);
  });
} else {
  root.dataset["offline"] = "off";
}
