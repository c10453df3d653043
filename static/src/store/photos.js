// Photos: kept as plain bytes (WebKit loses Blobs), apart from the record, and sent after it, one at a time.

/**
 * @typedef {import("./db.js").Vault} Vault
 * @typedef {import("./types.js").Photo} Photo
 */
import { isFull } from "./db.js";

const LONGEST_SIDE = 2048;
const QUALITY = 0.82;

/** Every photo named in an entry's body. @param {any} body @returns {string[]} */
export function hashesIn(body) {
  const inner = body.kind && body.body ? body.body : body; // an amendment carries the body it puts in place
  const named = [inner.photo, ...(inner.checks ?? []).map((/** @type {any} */ check) => check.photo)];
  return [...new Set(named.filter((sha) => typeof sha === "string" && sha !== ""))];
}

/** @param {ArrayBuffer | Uint8Array<ArrayBuffer>} bytes */
export async function sha256(bytes) {
  if (!crypto.subtle) throw new Error("Photos need the shop's https address: this page was opened by http.");
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...digest].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** Make a photo smaller before it is kept; one that cannot be drawn is kept as it is. @param {Blob} file */
export async function shrink(file) {
  if (typeof createImageBitmap !== "function" || typeof document === "undefined") return file;
  try {
    const image = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST_SIDE / Math.max(image.width, image.height));
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [Math.round(image.width * scale), Math.round(image.height * scale)];
    canvas.getContext("2d")?.drawImage(image, 0, 0, canvas.width, canvas.height);
    image.close();
    const small = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
    return small && small.size < file.size ? /** @type {Blob} */ (small) : file;
  } catch {
    return file;
  }
}

/**
 * Keep a photo's bytes. With no room left the photo is given up, never the record that names it.
 * @param {Vault} vault @param {Blob} file @returns {Promise<Photo>}
 */
export async function keep(vault, file) {
  const bytes = await file.arrayBuffer();
  const hash = await sha256(bytes);
  const row = { sha256: hash, type: file.type || "image/jpeg", bytes, at: new Date().toISOString() };
  try {
    await vault.run(["photos"], "readwrite", (tx) => tx.objectStore("photos").put(row));
    return { sha256: hash, kept: true, why: null };
  } catch (error) {
    if (!isFull(error)) throw error;
    return { sha256: hash, kept: false, why: "There is no room left on this phone for the photo. The entry itself is kept." };
  }
}

/**
 * Forget photos of drafts that came to nothing. @param {Vault} vault @param {number} [days]
 */
export async function sweep(vault, days = 14) {
  const before = new Date(Date.now() - days * 86_400_000).toISOString();
  await vault.run(["photos", "uploads"], "readwrite", async (tx) => {
    for (let cursor = await tx.objectStore("photos").openCursor(); cursor; cursor = await cursor.continue()) {
      const wanted = await tx.objectStore("uploads").getKey(cursor.value.sha256);
      if (!wanted && cursor.value.at < before) await cursor.delete();
    }
  });
}
