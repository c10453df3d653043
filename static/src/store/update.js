// New versions: a new service worker waits until the person agrees; then every tab reloads once. Drafts are in the
// database, so a form half filled survives.
import { signal } from "@preact/signals";

export const updateReady = signal(false);

/** @type {ServiceWorkerRegistration | undefined} */
let registration;
let reloading = false;

/** @param {ServiceWorkerRegistration} at */
function watch(at) {
  if (at.waiting && navigator.serviceWorker.controller) updateReady.value = true;
  at.addEventListener("updatefound", () => {
    const coming = at.installing;
    coming?.addEventListener("statechange", () => {
      if (coming.state === "installed" && navigator.serviceWorker.controller) updateReady.value = true;
    });
  });
}

/** Register the worker. A page that had none before is merely taken over by it; no reload for that. */
export async function watchForUpdates() {
  if (typeof navigator === "undefined" || !navigator.serviceWorker) return;
  let had = Boolean(navigator.serviceWorker.controller);
  navigator.serviceWorker.addEventListener("controllerchange", () => {
    if (had && !reloading) {
      reloading = true;
      location.reload();
    }
    had = true;
  });
  try {
    registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
    watch(registration);
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && lookForUpdate());
  } catch {
    // No worker (private browsing, plain http): the app works, but only while the server is reached.
  }
}

/** Ask the server for a newer version now. */
export function lookForUpdate() {
  registration?.update().catch(() => {}); // no signal: asked again when the page is next looked at
}

/** Use the version that waits; the page reloads once it has taken over. */
export function applyUpdate() {
  if (registration?.waiting) registration.waiting.postMessage({ type: "use-now" });
  else location.reload();
}
