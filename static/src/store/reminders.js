// What people are to be told, as the server said it last, kept on this phone for when it cannot be asked.
import { ask } from "./http.js";
import { dropCounted, kept } from "./nudges.js";

/** Where it is kept, in the store "meta". */
export const REMINDERS = "reminders";

/**
 * Ask what stands, and keep it. Resolves to whether anything is another than before.
 * @param {import("./db.js").Vault} vault @param {import("./http.js").Fetch} fetch @param {() => boolean} still whether that database is still the one in use
 */
export async function fetchReminders(vault, fetch, still) {
  const counted = (await kept(vault)).filter(({ sent }) => sent);
  const found = await ask(fetch, "GET", "/reminders");
  if (!Array.isArray(found?.reminders) || !still()) return false;
  const changed = JSON.stringify(found) !== JSON.stringify(await vault.get("meta", REMINDERS));
  if (changed) await vault.run(["meta"], "readwrite", (tx) => tx.objectStore("meta").put(found, REMINDERS));
  if (counted.length) await dropCounted(vault, counted);
  return changed || counted.length > 0;
}
