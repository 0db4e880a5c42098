// One build is one unit: every file fetched and compared with its digest, or nothing changes. BUILD, FILES (path -> SHA-256
// of what is kept, seen from the scope; a page goes by its folder's address) and PACKED (path -> SHA-256 of what travels,
// where that is gzipped) are set above this line by the build.

const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const SCOPE = new URL(worker.registration.scope);
// Two installations under one origin must not touch each other's caches.
const PREFIX = `tarewell ${SCOPE.pathname} `;
const CACHE = PREFIX + BUILD;
// Stands in the cache of the build whose pages are shown. A browser starts a waiting worker by itself once the app is
// closed: this mark, and not the worker that happens to run, decides, so that an update waits for its tap all the same.
const SHOWN = new URL("?shown", SCOPE).href;
// Where a shop server serves the app, these are its own: its connection, and what it says of itself. No copy of them counts.
const OF_SERVER = ["sync", "shop.json"];
const AT_ONCE = 6;
const AS_WRITTEN = { ignoreVary: true };
/** @type {Promise<Cache> | undefined} */
let shown;

worker.addEventListener("install", (event) => event.waitUntil(install()));
worker.addEventListener("activate", (event) => event.waitUntil(tidy()));
worker.addEventListener("message", (event) => {
  const answer = (/** @type {string} */ text) => event.source?.postMessage(text);
  // Answered before it is this worker's turn: as long as an older one has anything to answer, a browser lets it stay.
  const use = async () => {
    await useThis();
    answer("in-use");
    await worker.skipWaiting();
  };
  if (event.data === "skip-waiting") event.waitUntil(use());
  if (event.data === "in-use?") event.waitUntil(nameShown().then((name) => answer(name === CACHE ? "in-use" : "not-in-use")));
  if (event.data === "look-again") {
    shown = undefined;
    answer("looked");
  }
});
worker.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(toDay());
});
worker.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== SCOPE.origin || !url.pathname.startsWith(SCOPE.pathname)) return;
  const path = url.pathname.slice(SCOPE.pathname.length);
  if (!OF_SERVER.includes(path)) event.respondWith(respond(event.request, path));
});

async function install() {
  const cache = await caches.open(CACHE);
  const names = (await builds()).filter((name) => name !== CACHE);
  const older = await Promise.all(names.map((name) => caches.open(name)));
  const paths = Object.keys(FILES);
  const take = async () => {
    for (let path = paths.pop(); path !== undefined; path = paths.pop()) await keep(cache, older, path);
  };
  try {
    await Promise.all(Array.from({ length: AT_ONCE }, take));
  } catch (error) {
    paths.length = 0;
    await caches.delete(CACHE);
    throw error;
  }
  // No older build is stored (a first visit, or after the kill switch): there is nothing for a tap to decide.
  if (older.length === 0) await worker.skipWaiting();
}

/** A tap on a notification leads to the page that is open, else to the day. */
async function toDay() {
  const [open] = await worker.clients.matchAll({ type: "window" });
  await (open ? open.focus() : worker.clients.openWindow(new URL("day/", SCOPE).href));
}

/** From now on this build's pages are shown. */
async function useThis() {
  for (const name of await builds()) {
    if (name !== CACHE) await (await caches.open(name)).delete(SHOWN);
  }
  await (await caches.open(CACHE)).put(SHOWN, new Response());
  shown = undefined;
}

/** The name of the build whose pages are shown; "" where none is marked. */
async function nameShown() {
  for (const name of await builds()) if (await (await caches.open(name)).match(SHOWN)) return name;
  return "";
}

/** Puts one file into the new cache: from an older build where it is the same, else from the server.
 * @param {Cache} cache @param {Cache[]} older @param {string} path */
async function keep(cache, older, path) {
  const url = new URL(path, SCOPE).href;
  for (const source of [cache, ...older]) {
    const held = await source.match(url, AS_WRITTEN);
    const good = held && (await checked(held, path));
    if (good) return cache.put(url, good);
  }
  // First what the browser may still hold and the server confirms; when that is wrong, past every cache in between.
  for (const mode of /** @type {const} */ (["no-cache", "reload"])) {
    const fetched = await fetch(url, { cache: mode });
    const good = fetched.ok && (await checked(fetched, path));
    if (good) return cache.put(url, await settled(good));
  }
  throw new Error(`${path || "the first page"} could not be fetched as this build has it`);
}

/** The response as it is kept, unpacked where it travels packed; null where it is not what the build has.
 * @param {Response} response @param {string} path @returns {Promise<Response | null>} */
async function checked(response, path) {
  const found = await digest(response);
  if (found === FILES[path]) return response;
  if (found !== PACKED[path] || !response.body) return null;
  // Such a browser keeps it packed; its pages start Python the other way.
  if (typeof DecompressionStream === "undefined") return response;
  const whole = new Response(response.body.pipeThrough(new DecompressionStream("gzip")), { headers: { "Content-Type": "application/octet-stream" } });
  return (await digest(whole)) === FILES[path] ? whole : null;
}

/** @param {Response} response */
async function digest(response) {
  const bytes = await crypto.subtle.digest("SHA-256", await response.clone().arrayBuffer());
  return Array.from(new Uint8Array(bytes), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** A page that came by a redirection can't answer a navigation; everything else is kept untouched, since browsers tie
 * compiled code to the very response. @param {Response} response */
async function settled(response) {
  if (!response.redirected) return response;
  return new Response(await response.arrayBuffer(), { headers: response.headers });
}

/** This build's cache, the one shown and the one before stay: a page opened before the update may still want its own files. */
async function tidy() {
  // On a first visit there is no mark yet, nor after an older build that set none: its pages would never offer this one.
  if ((await nameShown()) === "") await useThis();
  const kept = [CACHE, await nameShown()];
  const names = (await builds()).filter((name) => !kept.includes(name));
  await Promise.all(names.slice(0, -1).map((name) => caches.delete(name)));
  // Also the page of the very first visit, so that the next build waits for its tap as for any other's.
  await worker.clients.claim();
}

async function builds() {
  return (await caches.keys()).filter((name) => name.startsWith(PREFIX));
}

/** @param {Request} request @param {string} path */
async function respond(request, path) {
  const page = path.replace(/(^|\/)index\.html$/, "$1");
  const build = await (shown ??= nameShown().then((name) => caches.open(name || CACHE)));
  const inBuild = (/** @type {string} */ address) => build.match(new URL(address, SCOPE).href, AS_WRITTEN);
  const wanted = await inBuild(page);
  if (wanted) return wanted;
  if (request.mode === "navigate") {
    if (await inBuild(`${page}/`)) return Response.redirect(new URL(`${page}/`, SCOPE).href);
    // No page of this build: perhaps another app's, whose folder lies inside ours. A redirection leads to our own 404 page,
    // because its links start at the site's root.
    const nowhere = () => Response.redirect(new URL("404.html", SCOPE).href);
    return fetch(request).then((found) => (found.status === 404 ? nowhere() : found), nowhere);
  }
  for (const name of await builds()) {
    const held = await (await caches.open(name)).match(request.url, { ...AS_WRITTEN, ignoreSearch: true });
    if (held) return held;
  }
  return fetch(request);
}
