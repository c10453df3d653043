// Sending what was made here. An entry leaves the outbox only when an answer of the right shape names its id; whatever
// else comes back, it stays (or goes to the tray, where it is seen). Nothing is ever dropped.
import { send } from "./http.js";
import { effectiveMs, localInstant } from "./instants.js";
import { byteLength, nextBatch } from "./outbox.js";

/**
 * @typedef {import("./types.js").OutboxRow} OutboxRow
 * @typedef {import("./types.js").Problem} Problem
 * @typedef {import("./types.js").Link} Link
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {{ vault: Vault, fetch: import("./http.js").Fetch, offset: number, bytes: number, count: number, moved: () => void }} Trip
 *   One round of syncing: `bytes` and `count` bound a batch, `moved` is told when rows moved.
 * @typedef {{ link: Link, wait: number | null, head?: number } | null} Halt  why a trip ended early, `wait` in ms
 */

export const MOST_ENTRIES = 500;
export const MOST_BYTES = 1.5 * 2 ** 20;
const PUSH_LIMIT_MS = 30_000;
const TOO_LARGE = { title: "Too large to send", status: 413, errors: [
  { field: "entry", problem: "is too large for the server", mend: "shorten its text, then send it again" }] };

/** Send the whole outbox, batch by batch, in the order made. @param {Trip} trip @returns {Promise<Halt>} */
export async function pushAll(trip) {
  let after = 0;
  for (;;) {
    const { rows, texts } = await nextBatch(trip.vault, after, trip.count, trip.bytes);
    if (!rows.length) return null;
    const halt = await pushRows(trip, rows, texts);
    if (halt) return halt;
    after = rows[rows.length - 1].n ?? after;
  }
}

/** @param {Trip} trip @param {OutboxRow[]} rows @param {string[]} texts @returns {Promise<Halt>} */
async function pushRows(trip, rows, texts) {
  const made = rows[0].made_on ? `,"made_on":${JSON.stringify(rows[0].made_on)}` : "";
  const body = `{"sent_at":"${localInstant(new Date())}","entries":[${texts.join(",")}]${made}}`;
  const answer = await send(trip.fetch, "POST", "/sync/push", { body, timeout: PUSH_LIMIT_MS });
  if (answer?.status === 200 && Array.isArray(answer.body?.results)) {
    const named = await settle(trip, rows, answer.body);
    return named ? null : { link: "no signal", wait: null };
  }
  const verdict = verdictOn(answer);
  if (verdict !== "divide") return verdict;
  const status = /** @type {any} */ (answer).status;
  if (status === 413) trip.bytes = Math.max(1, Math.min(trip.bytes, byteLength(body)) / 2);
  if (rows.length > 1) return pushHalves(trip, rows, texts);
  await park(trip, rows[0], status === 413 ? TOO_LARGE : /** @type {any} */ (answer).body);
  return null;
}

/** @param {Trip} trip @param {OutboxRow[]} rows @param {string[]} texts @returns {Promise<Halt>} */
async function pushHalves(trip, rows, texts) {
  const half = Math.ceil(rows.length / 2);
  return (await pushRows(trip, rows.slice(0, half), texts.slice(0, half)))
    ?? pushRows(trip, rows.slice(half), texts.slice(half));
}

/**
 * What an answer that settles nothing means: wait and keep everything, or divide the batch to find the one at fault.
 * @param {import("./http.js").Answer | null} answer
 * @returns {{ link: Link, wait: number | null } | "divide"}
 */
export function verdictOn(answer) {
  if (!answer) return { link: "no signal", wait: null };
  const { status, retryAfter: wait } = answer;
  if (status === 413) return "divide"; // proxies say it in HTML
  if (status >= 500 || status === 429) return { link: "server trouble", wait };
  const spoken = typeof answer.body?.title === "string";
  if (!spoken) return { link: status === 200 && answer.body ? "server trouble" : "no signal", wait };
  if (status === 401 || status === 403) return { link: "sign in again", wait };
  if (status === 426) return { link: "app too old", wait };
  return [400, 409, 422].includes(status) ? "divide" : { link: "server trouble", wait };
}

/**
 * Act on the results, all in one transaction. Returns how many rows were named in a shape that counts. What the server
 * misses of this phone's numbers comes with them: what was just sent must not show as missing until the next pull.
 * @param {Trip} trip @param {OutboxRow[]} rows @param {{ results: any[], gaps?: any }} answer
 */
async function settle(trip, rows, { results, gaps }) {
  const byId = new Map(results.filter((result) => typeof result?.id === "string").map((result) => [result.id, result]));
  const kept = rows.filter((row) => ["stored", "known"].includes(byId.get(row.id)?.outcome));
  const refused = rows.filter((row) => byId.get(row.id)?.outcome === "refused");
  if (kept.length + refused.length === 0) return 0;
  const told = Array.isArray(gaps) && !rows[0].made_on;
  await trip.vault.run(["outbox", "entries", "tray", "meta"], "readwrite", async (tx) => {
    const [outbox, entries, tray, meta] = ["outbox", "entries", "tray", "meta"].map((name) => tx.objectStore(name));
    await Promise.all([
      ...(told ? [meta.put(gaps, "gaps")] : []),
      ...kept.flatMap((row) => [outbox.delete(row.n), entries.put(storedRow(row, byId.get(row.id), trip.offset))]),
      ...refused.flatMap((row) => [outbox.delete(row.n), tray.put(trayItem(row, byId.get(row.id).problem))]),
    ]);
  });
  trip.moved();
  return kept.length + refused.length;
}

/** @param {OutboxRow} row @param {any} result @param {number} offset */
function storedRow({ id, entry, made_on }, result, offset) {
  const position = Number.isInteger(result.position) ? result.position : null;
  return { id, ms: effectiveMs(entry.at, offset), machine: entry.machine ?? "", position, made_on, entry };
}

/** @param {OutboxRow} row @param {any} problem */
function trayItem({ id, entry, made_on }, problem) {
  const said = problem && typeof problem.title === "string" ? problem : { title: "The server refused it without a reason" };
  return { id, entry, problem: said, at: new Date().toISOString(), made_on };
}

/** Put one entry that cannot be sent into the tray, so that the rest goes on. @param {Trip} trip @param {OutboxRow} row @param {Problem} problem */
async function park(trip, row, problem) {
  await trip.vault.run(["outbox", "tray"], "readwrite", async (tx) => {
    await Promise.all([tx.objectStore("outbox").delete(/** @type {number} */ (row.n)), tx.objectStore("tray").put(trayItem(row, problem))]);
  });
  trip.moved();
}
