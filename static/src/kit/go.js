// Addresses inside the app: the part after `#`.
import { signal } from "@preact/signals";

/** @typedef {{ parts: string[], query: URLSearchParams }} Where */

/** @param {string} hash @returns {Where} */
export function readHash(hash) {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?");
  return { parts: path.split("/").filter(Boolean).map(decodeURIComponent), query: new URLSearchParams(query) };
}

/** Where the reader is. */
export const where = signal(readHash(globalThis.location?.hash ?? ""));

/** Go to a place, such as `round/<machine>/<checklist>`. @param {string} path @param {{ replace?: boolean }} [how] */
export function go(path, how = {}) {
  const hash = `#/${path}`;
  if (how.replace) {
    location.replace(hash);
  } else {
    location.hash = hash;
  }
}

/** Back to where the reader came from, or to `path` when that was outside. @param {string} path */
export function goBack(path) {
  if (history.length > 1) history.back();
  else go(path, { replace: true });
}

/** Follow the address bar; called once at start. */
export function startWhere() {
  addEventListener("hashchange", () => {
    where.value = readHash(location.hash);
  });
}
