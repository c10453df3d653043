// The service worker: keeps the whole app on the phone, and waits until the person agrees to a new version.
import { cleanupOutdatedCaches, createHandlerBoundToURL, precacheAndRoute } from "workbox-precaching";
import { NavigationRoute, registerRoute } from "workbox-routing";
import { Vault } from "./store/db.js";
import { act, shown } from "./store/nudges.js";
import { mendChanged } from "./store/webpush.js";

/**
 * @typedef {{ url: string, focus(): Promise<unknown>, navigate(url: string): Promise<unknown> }} Page
 * @typedef {{ claim(): Promise<void>, matchAll(which: object): Promise<Page[]>, openWindow(url: string): Promise<unknown> }} Pages
 * @typedef {{ skipWaiting(): Promise<void>, clients: Pages, registration: { showNotification(title: string, options: object): Promise<void>, pushManager: import("./store/webpush.js").Manager },
 *   addEventListener: (type: string, run: (event: any) => void) => void }} Worker
 */
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

worker.addEventListener("push", (event) => event.waitUntil((async () => {
  let sent = null;
  try {
    sent = event.data?.json();
  } catch {
    // shown() says what it can
  }
  const { title, options } = shown(sent);
  await worker.registration.showNotification(title, options);
})()));

worker.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil((async () => {
    const parts = { open: (/** @type {string} */ device) => new Vault(device), fetch: fetch.bind(self), locks: navigator.locks ?? null };
    const address = await act(parts, event.action, event.notification.data).catch(() => `/${event.notification.data?.link ?? ""}`);
    if (address !== null) await open(address);
  })());
});

// The browser made its end of the messages anew; without signal the app mends it when it is opened next.
worker.addEventListener("pushsubscriptionchange", (event) => {
  event.waitUntil(mendChanged(fetch.bind(self), worker.registration.pushManager).catch(() => {}));
});

/** Show an address of the app, in a window that is open already when there is one. @param {string} address */
async function open(address) {
  const [page] = await worker.clients.matchAll({ type: "window" });
  if (!page) return void await worker.clients.openWindow(address);
  await page.focus();
  await page.navigate(address);
}
