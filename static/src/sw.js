// The service worker: keeps the whole app on the phone, and waits until the person agrees to a new version.
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";

/** @typedef {{ skipWaiting(): Promise<void>, clients: { claim(): Promise<void> }, addEventListener: (type: string, run: (event: any) => void) => void }} Worker */
const worker = /** @type {Worker} */ (/** @type {unknown} */ (self));

// The build fills these in: every file of the app, and the hash over all of them.
precacheAndRoute(__PRECACHE__);
cleanupOutdatedCaches();

// Every address of the app is the same page, also with no signal; the server's own addresses are left alone.
registerRoute(new NavigationRoute(createHandlerBoundToURL("/index.html"), { denylist: [/^\/api\//, /^\/healthz/] }));

worker.addEventListener("message", (event) => {
  if (event.data?.type === "use-now") event.waitUntil(worker.skipWaiting());
  if (event.data?.type === "which") event.ports[0]?.postMessage({ shell: __SHELL__ });
});

// A page that loaded before there was any worker is served by this one from now on; see store/update.js.
worker.addEventListener("activate", (event) => event.waitUntil(worker.clients.claim()));
