// What typed samples come to, before they are kept: the average beside the shop's own limits, or the dose of noise.
import { html } from "htm/preact";
import { StateMark, figure } from "../../../kit/index.js";
import { day } from "../../../core/noise.js";
import { markOfWord } from "../bars.js";
import { groupOf, sayMilligrams } from "../limits.js";
import { besides, sampled } from "./besides.js";
import { NOISE } from "./samples.js";

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
    return html`<p key=${row.who + row.time}><b class="num">${found.bounded ? "at most " : ""}${sayMilligrams(found.value)}</b> over ${figure(found.hours)} hours beside ${sayMilligrams(found.bound)}, ${row.time}, by ${row.who}
      <${StateMark} mark=${markOfWord(found.word)} word=${found.word} /> <span class="soft">${found.why}</span></p>`;
  }) : html`<p>None of the limits that the shop goes by can be held beside this fraction and form.</p>`}
    <p class="soft">Short-term limits and ceilings are worked out when it is kept.</p></div></div>`;
}
