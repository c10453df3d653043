// The dial: a test-indicator's face. The ticks are the interval, the bronze arc what is used of it, the hand
// where it stands. The notch outside the scale is where it falls due; past it the hand leaves the scale. The thin arc
// outside the scale is the forecast's range: where the hand will stand on the likely date.
import { html } from "htm/preact";

const START = 150; // degrees clockwise from three o'clock
const SWEEP = 240;
const PAST = 1.06; // the hand stops a little past due, however late it is
const FARTHEST = 1.07; // the forecast's arc ends before it meets the figures
const C = 100;
const R = 92;

/** @param {number} fraction @param {number} radius @returns {[number, number]} */
function point(fraction, radius) {
  const angle = ((START + SWEEP * fraction) * Math.PI) / 180;
  return [round2(C + radius * Math.cos(angle)), round2(C + radius * Math.sin(angle))];
}

/** @param {number} value */
function round2(value) {
  return Math.round(value * 100) / 100;
}

/** @param {number} from @param {number} to @param {number} radius */
function arc(from, to, radius) {
  const [x0, y0] = point(from, radius);
  const [x1, y1] = point(to, radius);
  return `M${x0} ${y0}A${radius} ${radius} 0 ${SWEEP * (to - from) > 180 ? 1 : 0} 1 ${x1} ${y1}`;
}

/** Tick marks: every tenth long, every fifth middling. @param {number} divisions */
function ticks(divisions) {
  let fine = "";
  let bold = "";
  for (let i = 0; i <= divisions; i += 1) {
    const fraction = i / divisions;
    const major = i % (divisions / 4) === 0;
    const length = major ? 15 : i % (divisions / 8) === 0 ? 11 : 6;
    const [x0, y0] = point(fraction, R);
    const [x1, y1] = point(fraction, R - length);
    const path = `M${x0} ${y0}L${x1} ${y1}`;
    if (major) bold += path;
    else fine += path;
  }
  return { fine, bold };
}

const SCALES = { small: ticks(16), large: ticks(40) };

/** The hand: a tapered needle with a short tail. @param {number} fraction */
function hand(fraction) {
  const [tx, ty] = point(fraction, R - 17);
  const side = 90 / SWEEP;
  const [ax, ay] = point(fraction - side, 4);
  const [bx, by] = point(fraction + side, 4);
  const [ex, ey] = point(fraction + 2 * side, 20);
  return `M${ax} ${ay}L${tx} ${ty}L${bx} ${by}L${ex} ${ey}z`;
}

/** The notch that marks where it falls due. */
function notch() {
  const [x0, y0] = point(1, R - 1);
  const [x1, y1] = point(0.985, R + 7);
  const [x2, y2] = point(1.015, R + 7);
  return `M${x0} ${y0}L${x1} ${y1}L${x2} ${y2}z`;
}
const NOTCH = notch();

/** The forecast's arc with a stroke at each end that lies on the face, from the hand on. @param {[number, number]} range @param {number} at @param {number} radius */
function foreseen([from, to], at, radius) {
  const low = Math.min(Math.max(from, at), FARTHEST - 0.01);
  const high = Math.min(Math.max(to, low + 0.01), FARTHEST);
  const ends = [low, high].filter((end) => end < FARTHEST).map((end) => {
    const [x0, y0] = point(end, radius - 3);
    const [x1, y1] = point(end, radius + 3);
    return `M${x0} ${y0}L${x1} ${y1}`;
  });
  return arc(low, high, radius) + ends.join("");
}

/**
 * @typedef {object} DialProps
 * @property {number} fraction used of the interval; 1 is due
 * @property {string} top the figure, such as "212"
 * @property {string} bottom what it is of, such as "/250 h"
 * @property {string} label said aloud instead of the drawing
 * @property {number} [size] width in px
 * @property {[number, number] | null} [forecast] where the hand will stand on the likely date, 8 times in 10
 */

/** @param {DialProps} props */
export function Dial({ fraction, top, bottom, label, size = 104, forecast }) {
  const small = size < 140;
  const scale = small ? SCALES.small : SCALES.large;
  const at = Math.max(0, Math.min(Number.isFinite(fraction) ? fraction : 0, PAST));
  const used = Math.min(at, 1);
  return html`<svg class="dial" width=${size} height=${round2(size * 0.92)} viewBox="0 4 200 184" role="img" aria-label=${label}>
    <path class="dial-track" d=${arc(0, 1, R - 26)} />
    ${used > 0.004 && html`<path class="dial-used" d=${arc(0, used, R - 26)} />`}
    <path class="dial-fine" d=${scale.fine} stroke-width=${small ? 2.5 : 1.2} />
    <path class="dial-bold" d=${scale.bold} stroke-width=${small ? 4 : 2.6} />
    ${forecast && html`<path class="dial-forecast" d=${foreseen(forecast, at, R + 3)} stroke-width=${small ? 4 : 3} />`}
    <path class="dial-notch" d=${NOTCH} />
    <path class="dial-hand" d=${hand(at)} /><circle class="dial-hub" cx=${C} cy=${C} r="7" />
    <text class="dial-top" x=${C} y=${small ? 160 : 154} font-size=${small ? 33 : 28}>${top}</text>
    <text class="dial-bottom" x=${C} y=${small ? 185 : 176} font-size=${small ? 22 : 18}>${bottom}</text>
  </svg>`;
}
