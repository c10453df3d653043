// Fetching what others made. The cursor moves in the same transaction that keeps the data it stands for.
import { send } from "./http.js";
import { storedMs } from "./instants.js";
import { putRows } from "./outbox.js";
import { verdictOn } from "./push.js";

/**
 * @typedef {import("./push.js").Trip} Trip
 * @typedef {import("./push.js").Halt} Halt
 * @typedef {import("./db.js").Transaction} Transaction
 */

const PAGE = 500;
const PULL_LIMIT_MS = 30_000;
/** After so long away a snapshot replaces what this phone holds: it keeps 90 days. */
const HORIZON_MS = 80 * 86_400_000;
const KEPT_MS = 100 * 86_400_000;
const STORES = ["meta", "definitions", "state", "entries"];
const AGAIN = [...STORES, "outbox", "uploads"];
/** @type {Record<string, string>} */
const TYPE_OF = { bays: "bay", machines: "machine", checklists: "checklist", tasks: "task", items: "item", people: "person", alloys: "alloy" };

/** Come up to date. @param {Trip} trip @returns {Promise<Halt>} */
export async function pullAll(trip) {
  const { cursor, synced, epoch } = await position(trip);
  if (cursor === undefined || Date.now() - (synced ?? 0) > HORIZON_MS) return pullSnapshot(trip);
  for (let after = cursor; ;) {
    const answer = await send(trip.fetch, "GET", `/sync/changes?after=${after}&limit=${PAGE}${epoch ? `&epoch=${epoch}` : ""}`, { timeout: PULL_LIMIT_MS });
    if (answer?.status === 410) return pullSnapshot(trip);
    if (answer?.status !== 200 || !isPage(answer.body)) return halt(answer);
    await keepPage(trip, answer.body, after, answer.date);
    if (!answer.body.more) return null;
    if (answer.body.head <= after) return { link: "server trouble", wait: null }; // "more" without moving on is no end
    after = answer.body.head;
  }
}

/** @param {Trip} trip */
const position = (trip) => trip.vault.run(["meta"], "readonly", async (tx) => {
  const meta = tx.objectStore("meta");
  const [cursor, synced, epoch] = await Promise.all(["cursor", "synced", "epoch"].map((key) => meta.get(key)));
  return { cursor, synced, epoch };
});

/** @param {import("./http.js").Answer | null} answer @returns {Halt} */
function halt(answer) {
  const verdict = verdictOn(answer);
  return verdict === "divide" ? { link: "server trouble", wait: null } : verdict;
}

/** @param {any} body */
const isState = (body) => body && typeof body.meters === "object" && typeof body.machines === "object";
/** @param {any} body */
const isPage = (body) => body && Array.isArray(body.entries) && Array.isArray(body.definitions)
  && Number.isInteger(body.head) && typeof body.more === "boolean" && isState(body.state);
/** @param {any} body */
const isSnapshot = (body) => body && Array.isArray(body.entries) && Number.isInteger(body.head)
  && Array.isArray(body.definitions?.machines) && Array.isArray(body.definitions?.people) && isState(body.state);

/** @param {any} entry */
function rowOf(entry) {
  const { position: at, ...own } = entry;
  return { id: entry.id, ms: storedMs(entry), machine: entry.machine ?? "", position: at, entry: own };
}

/** @param {Transaction} tx @param {any} state @returns {Promise<any>[]} */
function putState(tx, { meters, machines, shop }) {
  const store = tx.objectStore("state");
  return [
    ...Object.entries(meters).map(([id, meter]) => store.put(meter, `meter:${id}`)),
    ...Object.entries(machines).map(([id, doc]) => store.put(doc, `machine:${id}`)),
    ...(shop ? [store.put(shop, "shop")] : []),
  ];
}

/** @param {Transaction} tx @param {{ head: number, epoch?: string, gaps?: any }} body @param {number | null} date @returns {Promise<any>[]} */
function putMeta(tx, { head, epoch, gaps }, date) {
  const meta = tx.objectStore("meta");
  const now = Date.now();
  return [
    meta.put(head, "cursor"), meta.put(now, "synced"), meta.put(Array.isArray(gaps) ? gaps : [], "gaps"),
    ...(epoch ? [meta.put(epoch, "epoch")] : []), ...(date === null ? [] : [meta.put(date - now, "offset")]),
  ];
}

/** Keep a page, unless another tab has gone past it. @param {Trip} trip @param {any} body @param {number} after @param {number | null} date */
async function keepPage(trip, body, after, date) {
  await trip.vault.run(STORES, "readwrite", async (tx) => {
    const entries = tx.objectStore("entries");
    if ((await tx.objectStore("meta").get("cursor")) !== after) return;
    // One's own entries come back as id and position alone; their bodies are here since they were pushed.
    const own = body.entries.filter((/** @type {any} */ entry) => entry.kind === undefined);
    const rows = (await Promise.all(own.map((/** @type {any} */ { id }) => entries.get(id))))
      .map((row, index) => row && { ...row, position: own[index].position }).filter(Boolean);
    rows.push(...body.entries.filter((/** @type {any} */ entry) => entry.kind !== undefined).map(rowOf));
    await Promise.all([
      ...rows.map((row) => entries.put(row)),
      ...body.definitions.map((/** @type {any} */ one) => tx.objectStore("definitions").put(one)),
      ...putState(tx, body.state), ...putMeta(tx, body, date),
    ]);
  });
  if (body.entries.length || body.definitions.length) trip.moved();
}

/** Replace what this phone knows of the shop; what it has not sent is not touched. @param {Trip} trip @returns {Promise<Halt>} */
export async function pullSnapshot(trip) {
  const answer = await send(trip.fetch, "GET", "/sync/snapshot", { timeout: 4 * PULL_LIMIT_MS });
  if (answer?.status !== 200 || !isSnapshot(answer.body)) return halt(answer);
  const { body, date } = answer;
  const { shop, ...lists } = body.definitions;
  const definitions = Object.entries(lists).flatMap(([plural, list]) => list.map((/** @type {any} */ one) => ({ type: TYPE_OF[plural] ?? plural, ...one })));
  if (shop) definitions.push({ type: "shop", ...shop });
  await trip.vault.run(AGAIN, "readwrite", async (tx) => {
    const entries = tx.objectStore("entries");
    const known = await tx.objectStore("meta").get("epoch");
    const another = known !== undefined && body.epoch !== undefined && known !== body.epoch;
    const sent = (await entries.getAll()).filter((row) => row.made_on !== undefined && (another || (row.position ?? Infinity) > body.head));
    await putBack(tx, sent);
    await Promise.all(["definitions", "state", "entries"].map((name) => tx.objectStore(name).clear()));
    await Promise.all([
      ...body.entries.map((/** @type {any} */ entry) => entries.put(rowOf(entry))),
      ...definitions.map((one) => tx.objectStore("definitions").put(one)),
      ...putState(tx, body.state), ...putMeta(tx, body, date),
    ]);
  });
  trip.moved();
  return null;
}

/**
 * What this phone sent is sent again where the snapshot does not reach to it, or comes of another epoch: the server was
 * brought back from a backup and may have lost it. What it has, it knows.
 * @param {Transaction} tx @param {import("./types.js").EntryRow[]} sent
 */
async function putBack(tx, sent) {
  const waiting = new Set((await tx.objectStore("outbox").getAll()).map((row) => row.id));
  const rows = sent.filter((row) => !waiting.has(row.id)).sort((a, b) => a.entry.seq - b.entry.seq);
  await putRows(tx, rows.map(({ id, entry, made_on = null }) => ({ id, entry, made_on })));
}

/** Forget stored entries past the horizon. @param {import("./db.js").Vault} vault */
export const prune = (vault) => vault.run(["entries"], "readwrite", async (tx) => {
  const old = await tx.objectStore("entries").index("ms").getAllKeys(IDBKeyRange.upperBound(Date.now() - KEPT_MS));
  await Promise.all(old.map((id) => tx.objectStore("entries").delete(id)));
});
