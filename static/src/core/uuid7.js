// UUIDv7 (RFC 9562, 5.7): 48 bits of Unix time in ms, then random bits; ids made in one page only go up.

let lastMs = 0;
let counter = 0;

/**
 * A new id. Within one millisecond, and when the clock steps back, the 12 bits after the version count up (RFC 9562,
 * 6.2, method 1), so that entries made together keep their order.
 * @param {number} [now] ms since 1970
 */
export function newId(now = Date.now()) {
  const random = crypto.getRandomValues(new Uint8Array(10));
  if (now > lastMs) {
    lastMs = now;
    counter = ((random[0] << 8) | random[1]) & 0x7ff; // the top bit is left clear: room to count
  } else if (++counter > 0xfff) {
    lastMs += 1;
    counter = 0;
  }
  const time = lastMs.toString(16).padStart(12, "0");
  const variant = (0x80 | (random[2] & 0x3f)).toString(16);
  const rest = [...random.subarray(3)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return `${time.slice(0, 8)}-${time.slice(8)}-7${counter.toString(16).padStart(3, "0")}-${variant}${rest.slice(0, 2)}-${rest.slice(2)}`;
}
