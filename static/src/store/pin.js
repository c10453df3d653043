// A PIN says who is at the phone; it is no lock. Checked on the phone, so that it works without signal.

/** @typedef {import("./types.js").Pin} Pin */

const ITERATIONS = 310_000;

/** @param {string} text @returns {Uint8Array<ArrayBuffer>} */
const fromBase64 = (text) => Uint8Array.from(atob(text), (char) => char.charCodeAt(0));
/** @param {Uint8Array} bytes */
export const toBase64 = (bytes) => {
  let text = "";
  for (let at = 0; at < bytes.length; at += 0x8000) text += String.fromCharCode(...bytes.subarray(at, at + 0x8000));
  return btoa(text);
};
export { fromBase64 };

/** PBKDF2-SHA-256, 256 bits (RFC 8018). @param {string} pin @param {Uint8Array<ArrayBuffer>} salt @param {number} iterations */
async function derive(pin, salt, iterations) {
  if (!crypto.subtle) throw new Error("PINs need the shop's https address: this page was opened by http.");
  const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(pin.normalize("NFKC")), "PBKDF2", false, ["deriveBits"]);
  return new Uint8Array(await crypto.subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt, iterations }, key, 256));
}

/** What is stored of a PIN. @param {string} pin @returns {Promise<Pin>} */
export async function makePin(pin) {
  const salt = crypto.getRandomValues(new Uint8Array(16));
  return { salt: toBase64(salt), iterations: ITERATIONS, hash: toBase64(await derive(pin, salt, ITERATIONS)) };
}

/** @param {string} pin @param {Pin} stored */
export async function pinMatches(pin, stored) {
  const [made, held] = [await derive(pin, fromBase64(stored.salt), stored.iterations), fromBase64(stored.hash)];
  return made.length === held.length && made.every((byte, index) => byte === held[index]);
}
