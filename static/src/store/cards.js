// Documents of the server's that this phone keeps for when there is no signal, fetched after a sync now and then: the
// library's cards (alloys, media, limits and rules) and what has been (rounds, tasks on time, time spent).
import { ask } from "./http.js";

/** Cards change only with a release of the server, and who reads what has been asks anew: once an hour is plenty. */
const AGAIN_MS = 3_600_000;
/** How soon again while there are none: longer than one question may take. */
const SOON_MS = 20_000;

/** @typedef {{ path: string, key: string, part: string }} What `key`: where it is kept; `part`: a field that it has */

/** @param {import("@preact/signals").Signal<any>} signal @param {import("./http.js").Fetch} fetch */
export const createCards = (signal, fetch) => createKept(signal, fetch, { path: "/library/cards", key: "cards", part: "rules" });

/** @param {import("@preact/signals").Signal<any>} signal @param {import("./http.js").Fetch} fetch */
export const createHistory = (signal, fetch) => createKept(signal, fetch, { path: "/history", key: "history", part: "machines" });

/**
 * Keeps a signal in step with this phone's database and the server.
 * @param {import("@preact/signals").Signal<any>} signal null before the first fetch
 * @param {import("./http.js").Fetch} fetch @param {What} what
 */
function createKept(signal, fetch, { path, key, part }) {
  let asked = -Infinity;
  /** @type {string | null} */
  let etag = null;
  return {
    /** What was kept; storage that does not answer holds up nothing. @param {import("./db.js").Vault} vault @param {() => boolean} still whether that database is still the one in use */
    async recall(vault, still) {
      const kept = await vault.get("meta", key).catch(() => null);
      if (!kept || !still()) return;
      etag ??= kept.etag;
      signal.value ??= kept[key];
    },
    /** Fetch it, where it is time to, or somebody waits for it (`wanted`). @param {import("./db.js").Vault} vault @param {() => boolean} still @param {boolean} [wanted] */
    async fetch(vault, still, wanted = false) {
      if (!wanted && Date.now() - asked < (signal.value ? AGAIN_MS : SOON_MS)) return;
      asked = Date.now();
      try {
        const answer = await ask(fetch, "GET", path, { withTag: true });
        if (!still() || !answer.body?.[part]) return;
        if (signal.value && etag !== null && answer.etag === etag) return;
        await vault.run(["meta"], "readwrite", (tx) => tx.objectStore("meta").put({ etag: answer.etag, [key]: answer.body }, key));
        etag = answer.etag;
        signal.value = answer.body;
      } catch {
        // What was kept before stands.
      }
    },
  };
}
