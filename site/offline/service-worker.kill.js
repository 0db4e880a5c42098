// The way back when a build has gone wrong on people's phones. To use it, put this file on the host under the name
// service-worker.js, in place of the build's own. Every phone that next opens the app with a network drops the app's
// offline copy and its service worker; nothing in the workshop's own records (IndexedDB) is touched. When a good build
// is ready, put that build's service-worker.js back.
const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
const SCOPE = new URL(worker.registration.scope);

worker.addEventListener("install", () => worker.skipWaiting());
worker.addEventListener("activate", (event) => event.waitUntil(leave()));

async function leave() {
  const own = (await caches.keys()).filter((name) => name.startsWith(`tarewell ${SCOPE.pathname} `));
  await Promise.all(own.map((name) => caches.delete(name)));
  await worker.registration.unregister();
}
