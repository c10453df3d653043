// The icon, drawn once: a dial whose hand stands a little past the top, on a granite ground. As SVG and as PNG.
import { deflateSync } from "node:zlib";

const GRANITE = [0x1b, 0x1f, 0x22];
const PAPER = [0xee, 0xef, 0xec];
const BRONZE = [0xe0, 0xae, 0x6a];
const TICKS = 12;
const HAND = Math.PI / 5; // radians clockwise from the top

/** Signed distance to a thick line from (ax, ay) to (bx, by); below 0 is inside. */
function line(/** @type {number[]} */ [x, y], /** @type {number[]} */ [ax, ay, bx, by], /** @type {number} */ half) {
  const [px, py, dx, dy] = [x - ax, y - ay, bx - ax, by - ay];
  const along = Math.min(1, Math.max(0, (px * dx + py * dy) / (dx * dx + dy * dy)));
  return Math.hypot(px - along * dx, py - along * dy) - half;
}

function spoke(/** @type {number} */ angle, /** @type {number} */ from, /** @type {number} */ to) {
  const [sin, cos] = [Math.sin(angle), -Math.cos(angle)];
  return [0.5 + from * sin, 0.5 + from * cos, 0.5 + to * sin, 0.5 + to * cos];
}

const marks = Array.from({ length: TICKS }, (_, i) => ({
  ends: spoke((i * 2 * Math.PI) / TICKS, i % 3 ? 0.285 : 0.255, 0.315), half: 0.011, colour: PAPER,
}));
const hand = { ends: spoke(HAND, -0.06, 0.26), half: 0.019, colour: BRONZE };

/** The colour at a point of the unit square, or null where nothing is drawn. */
function colourAt(/** @type {number[]} */ point, /** @type {"card" | "full"} */ ground) {
  const [x, y] = point;
  const cut = 0.14; // the tag's cut corner
  if (ground === "card" && x - y > 1 - cut) return null;
  const out = Math.hypot(x - 0.5, y - 0.5);
  if (out < 0.045) return BRONZE;
  if (line(point, hand.ends, hand.half) < 0) return hand.colour;
  if (Math.abs(out - 0.36) < 0.014) return PAPER;
  return marks.find((mark) => line(point, mark.ends, mark.half) < 0)?.colour ?? GRANITE;
}

/** One pixel: the mean of a grid of samples, as RGBA. */
function pixel(/** @type {number} */ px, /** @type {number} */ py, /** @type {number} */ size, /** @type {"card" | "full"} */ ground) {
  const grid = 4;
  const sum = [0, 0, 0, 0];
  for (let i = 0; i < grid * grid; i++) {
    const x = (px + ((i % grid) + 0.5) / grid) / size;
    const y = (py + (Math.floor(i / grid) + 0.5) / grid) / size;
    const colour = colourAt([x, y], ground);
    if (colour) colour.concat(255).forEach((value, k) => { sum[k] += value; });
  }
  const covered = sum[3] / 255;
  return [...sum.slice(0, 3).map((value) => (covered ? Math.round(value / covered) : 0)), Math.round(sum[3] / grid ** 2)];
}

const CRC = Array.from({ length: 256 }, (_, n) => {
  let c = n;
  for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
  return c >>> 0;
});

/** One PNG chunk: length, type, data, CRC (ISO/IEC 15948, 5.3). */
function chunk(/** @type {string} */ type, /** @type {Buffer} */ data) {
  const body = Buffer.concat([Buffer.from(type, "latin1"), data]);
  const ends = Buffer.alloc(8);
  ends.writeUInt32BE(data.length, 0);
  ends.writeUInt32BE((body.reduce((c, byte) => CRC[(c ^ byte) & 255] ^ (c >>> 8), 0xffffffff) ^ 0xffffffff) >>> 0, 4);
  return Buffer.concat([ends.subarray(0, 4), body, ends.subarray(4)]);
}

/**
 * The icon as PNG.
 * @param {number} size pixels a side
 * @param {"card" | "full"} ground "card" has the cut corner; "full" is filled to the edge, for a mask
 */
export function iconPng(size, ground) {
  const rows = Buffer.alloc(size * (size * 4 + 1));
  for (let y = 0; y < size; y++) {
    for (let x = 0; x < size; x++) rows.set(pixel(x, y, size, ground), y * (size * 4 + 1) + 1 + x * 4);
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(size, 0);
  head.writeUInt32BE(size, 4);
  head.set([8, 6, 0, 0, 0], 8); // 8 bits, RGBA
  const signature = Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]);
  return Buffer.concat([signature, chunk("IHDR", head), chunk("IDAT", deflateSync(rows)), chunk("IEND", Buffer.alloc(0))]);
}

const hex = (/** @type {number[]} */ rgb) => `#${rgb.map((v) => v.toString(16).padStart(2, "0")).join("")}`;

/** The same drawing as SVG. */
export function iconSvg() {
  const stroke = (/** @type {{ends: number[], half: number, colour: number[]}} */ { ends, half, colour }) => {
    const [x1, y1, x2, y2] = ends.map((v) => +(v * 100).toFixed(2));
    return `<path d="M${x1} ${y1}L${x2} ${y2}" stroke="${hex(colour)}" stroke-width="${half * 200}"/>`;
  };
  return `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100" fill="none" stroke-linecap="round">`
    + `<path d="M0 0H86L100 14V100H0Z" fill="${hex(GRANITE)}"/>`
    + `<circle cx="50" cy="50" r="36" stroke="${hex(PAPER)}" stroke-width="2.8"/>`
    + marks.map(stroke).join("") + stroke(hand)
    + `<circle cx="50" cy="50" r="4.5" fill="${hex(BRONZE)}"/></svg>\n`;
}
