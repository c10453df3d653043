// What was made on this phone and has not been acknowledged by the server. Entry, number and outbox row are one
// transaction: after it the person may be told "kept", before it nobody may.
import { newId } from "../core/uuid7.js";
import { isFull, StorageError } from "./db.js";
import { localInstant } from "./instants.js";
import { hashesIn } from "./photos.js";

/**
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {import("./db.js").Transaction} Transaction
 * @typedef {import("./types.js").Entry} Entry
 * @typedef {import("./types.js").NewEntry} NewEntry
 * @typedef {import("./types.js").OutboxRow} OutboxRow
 */

const ADD = ["meta", "outbox", "uploads"];

/**
 * The next number. It is also noted outside the database, so that after the browser cleared it the numbers go on and
 * the lost ones show as a gap. @param {Transaction} tx @param {() => number} remembered
 */
async function takeNumbers(tx, remembered, /** @type {number} */ count) {
  const meta = tx.objectStore("meta");
  const first = Math.max((await meta.get("seq")) ?? 0, remembered()) + 1;
  await meta.put(first + count - 1, "seq");
  return first;
}

/**
 * Keep entries, all or none; resolves when they are durable.
 * @param {Vault} vault @param {NewEntry[]} made @param {string} by the person's id
 * @param {{ now?: Date, seqStore?: { read(): number, write(seq: number): void } }} [options]
 * @returns {Promise<Entry[]>}
 */
export async function append(vault, made, by, { now = new Date(), seqStore } = {}) {
  const blank = made.map((entry) => ({
    id: entry.id ?? newId(now.getTime()), kind: entry.kind, machine: entry.machine ?? null, by: entry.by ?? by,
    at: entry.at ?? localInstant(now), seq: 0, body: entry.body,
  }));
  const entries = await withRoom(vault, () => vault.run(ADD, "readwrite", async (tx) => {
    // A repeat after a lost connection must not keep the same entries twice.
    const kept = await tx.objectStore("outbox").index("id").get(blank[0].id);
    const first = kept ? kept.entry.seq : await takeNumbers(tx, () => seqStore?.read() ?? 0, blank.length);
    const numbered = blank.map((entry, index) => ({ ...entry, seq: first + index }));
    if (!kept) await putRows(tx, numbered.map((entry) => ({ id: entry.id, entry, made_on: null })));
    return numbered;
  }));
  seqStore?.write(entries[entries.length - 1].seq);
  return entries;
}

/**
 * With no room left, what can be fetched again (stored entries) makes way for what cannot.
 * @template T
 * @param {Vault} vault @param {() => Promise<T>} work @returns {Promise<T>}
 */
async function withRoom(vault, work) {
  try {
    return await work();
  } catch (error) {
    if (!isFull(error)) throw error;
    await vault.run(["entries", "meta"], "readwrite", async (tx) => {
      const cursor = await tx.objectStore("meta").get("cursor");
      for (let at = await tx.objectStore("entries").openCursor(); at; at = await at.continue()) {
        if (at.value.position !== null && at.value.position <= cursor) await at.delete();
      }
    });
  }
  try {
    return await work();
  } catch (error) {
    if (!isFull(error)) throw error;
    throw new StorageError("This phone has no room left, so this is NOT kept. Free some room, or write it on paper.", error);
  }
}

/** Outbox rows, and an upload row for every photo they name. @param {Transaction} tx @param {OutboxRow[]} rows */
export async function putRows(tx, rows) {
  for (const row of rows) {
    await tx.objectStore("outbox").add(row);
    for (const sha256 of hashesIn(row.entry.body)) {
      await tx.objectStore("uploads").put({ sha256, state: "waiting", why: null });
    }
  }
}

/**
 * The first rows after a key, in the order made, of one maker: at most `count` and about `bytes`.
 * @param {Vault} vault @param {number} after @param {number} count @param {number} bytes
 * @returns {Promise<{ rows: OutboxRow[], texts: string[] }>} `texts`: the entries as JSON
 */
export async function nextBatch(vault, after, count, bytes) {
  /** @type {OutboxRow[]} */
  const waiting = await vault.run(["outbox"], "readonly",
    (tx) => tx.objectStore("outbox").getAll(IDBKeyRange.lowerBound(after, true), count));
  /** @type {OutboxRow[]} */
  const rows = [];
  const texts = [];
  let size = 0;
  for (const row of waiting) {
    const text = JSON.stringify(row.entry);
    size += byteLength(text) + 1;
    if (rows.length && (size > bytes || row.made_on !== rows[0].made_on)) break;
    rows.push(row);
    texts.push(text);
  }
  return { rows, texts };
}

const encoder = new TextEncoder();
/** @param {string} text */
export const byteLength = (text) => encoder.encode(text).length;

/**
 * Send a refused entry again. Its id and number are kept, since the server has stored nothing under them; only when it
 * was refused because that id is taken does it get new ones.
 * @param {Vault} vault @param {string} id @param {any} body
 * @param {{ read(): number, write(seq: number): void }} [seqStore]
 */
export async function resend(vault, id, body, seqStore) {
  const seq = await vault.run([...ADD, "tray"], "readwrite", async (tx) => {
    const item = await tx.objectStore("tray").get(id);
    if (!item) return 0;
    const entry = { ...item.entry, body };
    const taken = item.problem.errors?.some((/** @type {any} */ fault) => fault.field === "id");
    if (taken) Object.assign(entry, { id: newId(), seq: await takeNumbers(tx, () => seqStore?.read() ?? 0, 1) });
    await tx.objectStore("tray").delete(id);
    await putRows(tx, [{ id: entry.id, entry, made_on: item.made_on }]);
    return taken ? entry.seq : 0;
  });
  if (seq) seqStore?.write(seq);
}

/** Take a refused entry out of the tray, once its file has been saved. @param {Vault} vault @param {string} id */
export const discard = (vault, id) => vault.run(["tray"], "readwrite", (tx) => tx.objectStore("tray").delete(id));
