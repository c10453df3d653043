// Photos follow the records: one at a time, so that neither memory nor a thin line is filled by them.
import { problemIn, send } from "./http.js";
import { verdictOn } from "./push.js";

/**
 * @typedef {import("./push.js").Trip} Trip
 * @typedef {import("./push.js").Halt} Halt
 * @typedef {import("./types.js").UploadRow} UploadRow
 */

const PHOTO_LIMIT_MS = 180_000;

/** Send what photos wait. @param {Trip} trip @returns {Promise<Halt>} */
export async function uploadAll(trip) {
  /** @type {UploadRow[]} */
  const rows = await trip.vault.all("uploads");
  for (const { sha256 } of rows.filter((row) => row.state === "waiting")) {
    const halt = await uploadOne(trip, sha256);
    if (halt) return halt;
  }
  return null;
}

/** @param {Trip} trip @param {string} sha256 @returns {Promise<Halt>} */
async function uploadOne(trip, sha256) {
  const photo = await trip.vault.get("photos", sha256);
  const path = `/photos/${sha256}`;
  const answer = photo
    ? await send(trip.fetch, "PUT", path, { bytes: photo.bytes, type: photo.type, timeout: PHOTO_LIMIT_MS })
    : await send(trip.fetch, "HEAD", path);
  // Without the bytes here it is well if the server has them from before; else the photo is lost, and said to be.
  if (!photo && answer && (answer.status === 200 || answer.status === 404)) {
    await (answer.status === 200 ? done(trip, sha256) : failed(trip, sha256, "There was no room on this phone to keep the photo."));
    return null;
  }
  if (photo && answer?.status === 204) {
    await done(trip, sha256);
    return null;
  }
  const verdict = verdictOn(answer);
  if (verdict !== "divide") return verdict;
  await failed(trip, sha256, problemIn(answer)?.detail ?? "The server did not take the photo.");
  return null;
}

/** @param {Trip} trip @param {string} sha256 */
async function done(trip, sha256) {
  await trip.vault.run(["photos", "uploads"], "readwrite", async (tx) => {
    await Promise.all(["photos", "uploads"].map((name) => tx.objectStore(name).delete(sha256)));
  });
  trip.moved();
}

/** @param {Trip} trip @param {string} sha256 @param {string} why */
async function failed(trip, sha256, why) {
  await trip.vault.run(["uploads"], "readwrite", (tx) => tx.objectStore("uploads").put({ sha256, state: "failed", why }));
  trip.moved();
}
