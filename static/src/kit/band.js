// The band strip: the limits of a reading drawn to scale, and where the reading stands.
import { html } from "htm/preact";
import { figure } from "./numbers.js";

/** @typedef {{ stop_low?: number | null, act_low?: number | null, target?: number | null, act_high?: number | null, stop_high?: number | null }} Band */

const WIDTH = 360;
const Y = 22;
const DASH = 4;
/** Half the width of a letter of a label, and the room beside it. */
const LETTER = 5.5;

/** The stretch of values the strip shows: all limits, the value, and air at both ends. @param {Band} band @param {number | null} value */
function stretch(band, value) {
  const limits = [band.stop_low, band.act_low, band.target, band.act_high, band.stop_high].filter((x) => typeof x === "number");
  const lowest = Math.min(...limits);
  const highest = Math.max(...limits);
  const room = (highest - lowest || Math.abs(highest) || 1) * 0.35;
  const low = lowest - room;
  const high = highest + room;
  if (value === null) return { low, high };
  return { low: Math.min(low, value), high: Math.max(high, value) };
}

/** Labels that would run into each other are dropped, limits before the target. @param {[number, number][]} marks [x, value] */
function spread(marks) {
  /** @type {[number, number][]} */
  const kept = [];
  for (const mark of marks) {
    if (kept.every(([x, v]) => Math.abs(x - mark[0]) > Math.max(38, (figure(v).length + figure(mark[1]).length) * LETTER))) kept.push(mark);
  }
  return kept;
}

/**
 * @param {{ band: Band, value: number | null, unit?: string, word?: string }} props
 *   `word` is the verdict, said with the strip
 */
export function BandStrip({ band, value, unit = "", word = "" }) {
  const { low, high } = stretch(band, value);
  /** @param {number} v */
  const x = (v) => Math.round(((v - low) / (high - low)) * (WIDTH - 28) + 14);
  const from = band.act_low ?? band.stop_low ?? null;
  const to = band.act_high ?? band.stop_high ?? null;
  const good = `M${from === null ? DASH : x(from)} ${Y}H${to === null ? WIDTH - DASH : x(to)}`;
  const order = [band.act_low, band.act_high, band.stop_low, band.stop_high, band.target];
  const labels = spread(order.filter((v) => typeof v === "number").map((v) => [x(v), v]));
  const said = `${word} ${value === null ? "" : `${figure(value)} ${unit}`} ${limitsSaid(band, unit)}`.trim();
  return html`<svg class="band" viewBox="0 0 ${WIDTH} 58" role="img" aria-label=${said}>
    <path class="band-track" d="M${DASH} ${Y}H${WIDTH - DASH}" /><path class="band-good" d=${good} />
    ${typeof band.stop_low === "number" && html`<path class="band-stop" d="M${DASH} ${Y}H${x(band.stop_low)}" />`}
    ${typeof band.stop_high === "number" && html`<path class="band-stop" d="M${x(band.stop_high)} ${Y}H${WIDTH - DASH}" />`}
    ${typeof band.target === "number" && html`<path class="band-target" d="M${x(band.target)} ${Y - 11}v22" />`}
    ${labels.map(([at, v]) => html`<text key=${v} class="band-label" x=${at} y="54">${figure(v)}</text>`)}
    ${value !== null && html`<path class="band-hand" d="M${x(value)} ${Y - 16}l9 16-9 16-9-16z" />`}
  </svg>`;
}

/** The limits in words. @param {Band} band @param {string} unit */
export function limitsSaid(band, unit) {
  const words = [
    typeof band.stop_low === "number" && `stop below ${figure(band.stop_low)}`,
    typeof band.act_low === "number" && `act below ${figure(band.act_low)}`,
    typeof band.target === "number" && `target ${figure(band.target)}`,
    typeof band.act_high === "number" && `act above ${figure(band.act_high)}`,
    typeof band.stop_high === "number" && `stop above ${figure(band.stop_high)}`,
  ].filter(Boolean);
  return words.length ? `${words.join(", ")}${unit ? ` ${unit}` : ""}` : "";
}
