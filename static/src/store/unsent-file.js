// Everything unsent as a file, and such a file read in again: for a phone that is to be wiped, or has no signal for days.
import { fromBase64, toBase64 } from "./pin.js";
import { Problem } from "./http.js";
import { putRows } from "./outbox.js";
import { sha256 } from "./photos.js";

/**
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {{ id: string, shop: string | null }} Owner  the device, and its shop's id
 */

const FORM = "wayround unsent 1";

/**
 * @param {Vault} vault @param {Owner} owner @param {string} [only] the id of one refused entry, alone
 * @returns {Promise<File>}
 */
export async function writeFile(vault, owner, only) {
  const [outbox, tray, uploads] = await Promise.all(["outbox", "tray", "uploads"].map((store) => vault.all(store)));
  const wanted = (/** @type {any} */ row) => !only || row.id === only;
  const entries = [
    ...tray.filter(wanted).map(({ entry, made_on, problem }) => ({ entry, made_on: made_on ?? owner.id, problem })),
    ...outbox.filter(wanted).map(({ entry, made_on }) => ({ entry, made_on: made_on ?? owner.id })),
  ];
  const head = JSON.stringify({ form: FORM, saved_at: new Date().toISOString(), shop: owner.shop, entries });
  // Photos are written one at a time, so that only one is in memory as text.
  /** @type {BlobPart[]} */
  const parts = [head.slice(0, -1), ',"photos":['];
  for (const { sha256: hash } of only ? [] : uploads) {
    const photo = await vault.get("photos", hash);
    if (photo) parts.push(`${parts.length > 2 ? "," : ""}${JSON.stringify({ sha256: hash, type: photo.type, data: toBase64(new Uint8Array(photo.bytes)) })}`);
  }
  parts.push("]}");
  const name = `wayround-unsent-${new Date().toISOString().slice(0, 16).replace(":", "")}.json`;
  return new File([new Blob(parts)], name, { type: "application/json" });
}

/** @param {string} problem @param {string} mend */
const unusable = (problem, mend) => new Problem({ title: "The file cannot be read in", detail: `The file ${problem}: ${mend}.`,
  errors: [{ field: "file", problem, mend }] });

/** @param {Blob} file @param {Owner} owner */
async function parsed(file, owner) {
  let held;
  try {
    held = JSON.parse(await file.text());
  } catch {
    throw unusable("is no whole JSON file", "choose the file as Wayround saved it");
  }
  if (held?.form !== FORM || !Array.isArray(held.entries) || !Array.isArray(held.photos)) {
    throw unusable("is no file of unsent entries", "choose a file saved by «Save what is unsent»");
  }
  if (held.shop && owner.shop && held.shop !== owner.shop) throw unusable("was saved in another shop", "read it in on a phone of that shop");
  const whole = (/** @type {any} */ row) => typeof row?.entry?.id === "string" && typeof row.entry.kind === "string"
    && Number.isInteger(row.entry.seq) && typeof row.made_on === "string" && row.entry.body;
  if (!held.entries.every(whole)) throw unusable("holds an entry that is not whole", "choose the file as Wayround saved it");
  return held;
}

/**
 * Put a file's entries in the outbox, to be sent in the name of the device that made them; what is here already is
 * left alone. All entries or none.
 * @param {Vault} vault @param {Blob} file @param {Owner} owner
 */
export async function readFile(vault, file, owner) {
  const held = await parsed(file, owner);
  const count = await vault.run(["outbox", "tray", "entries", "uploads"], "readwrite", async (tx) => {
    let added = 0;
    for (const { entry, made_on } of held.entries) {
      const here = await Promise.all([tx.objectStore("outbox").index("id").getKey(entry.id),
        tx.objectStore("tray").getKey(entry.id), tx.objectStore("entries").getKey(entry.id)]);
      if (here.some((key) => key !== undefined)) continue;
      await putRows(tx, [{ id: entry.id, entry, made_on: made_on === owner.id ? null : made_on }]);
      added += 1;
    }
    return added;
  });
  let photos = 0;
  for (const { sha256: hash, type, data } of held.photos) photos += Number(await keepIfWhole(vault, hash, type, fromBase64(data)));
  return { entries: count, photos };
}

/** @param {Vault} vault @param {string} hash @param {string} type @param {Uint8Array<ArrayBuffer>} bytes */
async function keepIfWhole(vault, hash, type, bytes) {
  if ((await sha256(bytes)) !== hash) return false;
  const row = { sha256: hash, type, bytes: bytes.buffer, at: new Date().toISOString() };
  await vault.run(["photos", "uploads"], "readwrite", (tx) => Promise.all([
    tx.objectStore("photos").put(row), tx.objectStore("uploads").put({ sha256: hash, state: "waiting", why: null }),
  ]));
  return true;
}
