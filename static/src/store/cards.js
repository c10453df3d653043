// The library's cards on this phone: alloys, media, limits and rules, fetched after a sync and kept for when there is no signal.
import { ask } from "./http.js";

/** Cards change only with a release of the server: asking once an hour is plenty. */
const AGAIN_MS = 3_600_000;
/** How soon again while there are none: longer than one question may take. */
const SOON_MS = 20_000;

/** @typedef {{ etag: string | null, cards: any }} Kept */

/**
 * Keeps the signal `library` in step with this phone's database and the server.
 * @param {import("@preact/signals").Signal<any>} signal null before the first fetch
 * @param {import("./http.js").Fetch} fetch
 */
export function createCards(signal, fetch) {
  let asked = -Infinity;
  /** @type {string | null} */
  let etag = null;
  return {
    /** What was kept; storage that does not answer holds up nothing. @param {import("./db.js").Vault} vault @param {() => boolean} still whether that database is still the one in use */
    async recall(vault, still) {
      const kept = await vault.get("meta", "cards").catch(() => null);
      if (!kept || !still()) return;
      etag ??= kept.etag;
      signal.value ??= kept.cards;
    },
    /** Fetch them, where it is time to. @param {import("./db.js").Vault} vault @param {() => boolean} still */
    async fetch(vault, still) {
      if (Date.now() - asked < (signal.value ? AGAIN_MS : SOON_MS)) return;
      asked = Date.now();
      try {
        const answer = await ask(fetch, "GET", "/library/cards", { withTag: true });
        if (!still() || !answer.body?.rules) return;
        if (signal.value && etag !== null && answer.etag === etag) return;
        await vault.run(["meta"], "readwrite", (tx) => tx.objectStore("meta").put({ etag: answer.etag, cards: answer.body }, "cards"));
        etag = answer.etag;
        signal.value = answer.body;
      } catch {
        // What was kept before stands.
      }
    },
  };
}
