// What typed samples come to, before they are kept: the average beside the shop's own limits, or the dose of noise.
import { html } from "htm/preact";
import { StateMark, figure } from "../../../kit/index.js";
import { ACTION, average, compare, leadShift, BELOW, OVER, UNMEASURED } from "../../../core/exposure.js";
import { milligrams } from "../../../core/limits.js";
import { day } from "../../../core/noise.js";
import { markOfWord } from "../bars.js";
import { groupOf, sayMilligrams } from "../limits.js";
import { NOISE } from "./samples.js";

/** Hours of a shift that may go unmeasured, as on the server (OSHA's letter of 23 January 1997). */
const SLACK_HOURS = 1;
const MILLIGRAMS = /** @type {Record<string, number>} */ ({ "mg/m3": 1, "ug/m3": 0.001 });

/** Which sampler a fraction means: total and inhalable both aim at the whole dust. @param {string} fraction */
const sampled = (fraction) => (fraction === "thoracic" || fraction === "respirable" ? fraction : "whole");

/**
 * The eight-hour average of samples beside one limit; of a shift measured in part nothing is ever below it, and what lay
 * below detection is never said to be over.
 * @param {any} body @param {import("../../../core/limits.js").Limit} limit
 */
export function besides(body, limit) {
  const pairs = body.samples.map((/** @type {any} */ one) => /** @type {[number, number]} */ ([one.value * MILLIGRAMS[one.unit], one.minutes / 60]));
  const found = average(pairs, Math.max(body.shift_hours, pairs.reduce((/** @type {number} */ sum, /** @type {[number, number]} */ [, hours]) => sum + hours, 0)));
  const bounded = body.samples.some((/** @type {any} */ one) => one.below_detection);
  // OSHA holds lead over a long day to less, as a mean over the hours that were worked.
  const long = limit.substance === "lead" && limit.authority === "us_osha" && limit.kind === "twa" && found.shift > 8;
  const value = long ? (found.eight_hours * 8) / found.shift : found.eight_hours;
  const bound = long ? leadShift(milligrams(limit), found.shift).limit : milligrams(limit);
  const held = compare(value, bound, "mg/m3");
  const word = limit.kind === "action" && held.word === OVER ? ACTION : held.word;
  const whole = found.unmeasured <= SLACK_HOURS + 1e-9;
  const unsure = (held.word === BELOW && !whole) || (held.word !== BELOW && bounded);
  return { value, bound, hours: long ? found.shift : 8, word: unsure ? UNMEASURED : word, share: held.share, why: found.why, bounded };
}

/** @param {{ body: any }} props */
function Noise({ body }) {
  const found = day(body.samples.map((/** @type {any} */ one) => [one.value, one.minutes / 60]), Math.max(body.shift_hours, body.samples.reduce((/** @type {number} */ sum, /** @type {any} */ one) => sum + one.minutes / 60, 0)));
  const rows = [["OSHA limit", found.limit], ["OSHA action level, from 50 %", found.action], ["NIOSH recommendation", found.niosh]];
  return html`<dl class="sum-figures">${rows.map(([name, one]) => html`<div key=${name}><dt>${name}</dt><dd><span class="num">${figure(/** @type {any} */ (one).dose, 0)}</span> % of the day's dose
      <${StateMark} mark=${markOfWord(/** @type {any} */ (one).word)} word=${/** @type {any} */ (one).word} /></dd></div>`)}</dl>
    <p><b>${found.word}.</b> ${found.todo}</p>`;
}

/** @param {{ body: any, cards: any, authorities: string[], today: string }} props */
export function Preview({ body, cards, authorities, today }) {
  if (!body) return html`<p class="sum-wait">Fill in the samples: what they come to stands here, beside the limits that the shop goes by.</p>`;
  if (body.agent === NOISE) return html`<div class="sum-answer"><div role="status"><${Noise} body=${body} /></div></div>`;
  const own = groupOf(cards, body.agent, body.form, authorities, today).rows.filter(({ limit, chosen, coming }) => chosen && !coming && limit.kind !== "stel" && limit.kind !== "ceiling"
    && limit.minutes <= 480 && sampled(limit.fraction) === sampled(body.fraction));
  return html`<div class="sum-answer"><div role="status">${own.length ? own.map((row) => {
    const found = besides(body, row.limit);
    return html`<p key=${row.who + row.time}><b class="num">${found.bounded ? "at most " : ""}${sayMilligrams(found.value)}</b> over ${figure(found.hours)} hours beside ${sayMilligrams(found.bound)} (${row.who}, ${row.time})
      <${StateMark} mark=${markOfWord(found.word)} word=${found.word} /> <span class="soft">${found.why}</span></p>`;
  }) : html`<p>None of the limits that the shop goes by can be held beside this fraction and form.</p>`}
    <p class="soft">Short-term limits and ceilings are worked out when it is kept.</p></div></div>`;
}
