// A wearing part: how long its lives were, how long the one that runs may last, when changing it is cheapest, the drawer.
import { html } from "htm/preact";
import { ButtonLink, Empty, Facts, Notice, Page, Section, dayIn, figure, sayDay } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { Age, kept } from "../ahead/kept.js";
import { plainDay } from "../ahead/words.js";
import { lifeOf } from "../life.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { Advice, BreakIn, Drawer, Groups, Trend } from "./advice.js";
import { Curve } from "./curve.js";
import { partOf } from "./hint.js";
import { Lives } from "./lives.js";
import { notesOf, rough, sayLeft, sayLeftInTime, sayListed } from "./points.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** A day of an instant, plainly. @param {string} at */
const dayOf = (at) => plainDay(dayIn(new Date(at), calendar.value.zone), calendar.value.today);

/** The part that runs, by this phone's own count, and what the curve says of it. @param {{ machine: Definition, part: any, found: any }} props */
function Running({ machine, part, found }) {
  const { zone, today } = calendar.value;
  const doc = docOf(world.value, machine);
  const fitted = doc.parts[part.id];
  if (!fitted?.at) return !found && html`<${Section} title="Running now"><p class="soft">No change of it is recorded yet. Log one when it is fitted, and its life counts from there.</p><//>`;
  const life = lifeOf(part, machine, doc);
  const counted = fitted.minutes !== undefined ? `${figure(fitted.minutes, 1)} min cut` : life ? `${figure(life.lived, 1)} ${life.unit}` : "";
  const since = `${counted ? "since" : "fitted"} ${sayDay(dayIn(new Date(fitted.at), zone), today)}`;
  const changed = found?.fitted && Date.parse(fitted.at) > Date.parse(found.fitted.at);
  const notes = notesOf({ ...found?.fitted, ...fitted });
  const meter = Object.values(kept.value?.machines[machine.id]?.meters ?? {}).find((/** @type {any} */ one) => one.kind === found?.by);
  return html`<${Section} title="Running now" area="running"><p class="part-now"><b class="num">${counted}</b> ${since}${notes ? ` · ${notes}` : ""}</p>
    ${changed && html`<${Notice}>It was changed after all of this was worked out. The new life counts as soon as this phone has signal.<//>`}
    ${found?.left && !changed && html`<p>${sayLeft(found.left, found.unit)} ${sayLeftInTime(found.left, found.unit, /** @type {any} */ (meter)?.a_week)}</p>`}
    ${found && html`<${BreakIn} rows=${found.break_in} />`}<//>`;
}

/** What this phone's own state holds of the lives, where nothing was worked out. @param {{ machine: Definition, part: any }} props */
function OwnList({ machine, part }) {
  const fitted = docOf(world.value, machine).parts[part.id];
  const meter = machine.meters.find((/** @type {any} */ one) => one.kind === part.meter);
  if (!fitted?.lives.length) return null;
  return html`<${Section} title="Lives that this phone knows"><ul class="lines">${fitted.lives.map((/** @type {any} */ life) => {
    const lived = life.minutes !== undefined ? `${figure(life.minutes, 1)} min` : meter && life.meters[meter.id] !== undefined ? `${figure(life.meters[meter.id], 1)} ${meter.unit}` : "not counted";
    return html`<li key=${life.to} class="life-own"><b>${lived}</b><span class="soft">${dayOf(life.from)} to ${dayOf(life.to)}, ${life.reason.toLowerCase()}</span></li>`;
  })}</ul><//>`;
}

/** @param {{ found: any }} props */
function LivesPart({ found }) {
  const { listed, unit } = found;
  return html`<${Section} title="Lives" area="lives">
    <p>${sayListed(listed)} ${found.by === "minutes" ? "Counted in cut minutes by the batch log." : found.by === "days" ? "Counted in days, for no meter counts it." : ""}</p>
    ${found.said.map((/** @type {string} */ line) => html`<${Notice} key=${line}>${line}<//>`)}
    <${Lives} lives=${found.lives} fitted=${found.fitted} unit=${unit} say=${dayOf} plain=${!found.fit} />
    ${listed.ended > 0 && html`<${Facts} rows=${[
      ["Shortest, middle, longest", html`<span class="num">${[listed.shortest, listed.median, listed.longest].map(rough).join(" · ")}</span> ${unit}`],
      ["Use for each failure", listed.mean === null ? `none failed in ${rough(listed.use)} ${unit}` : html`<span class="num">${rough(listed.mean)}</span> ${unit} (${rough(listed.mean_range[0])} to ${rough(listed.mean_range[1])})`],
    ]} />
    ${listed.mean !== null && html`<p class="soft">Use for each failure is ${rough(listed.use)} ${unit} divided by ${figure(listed.failed)}, its range at ${Math.round(listed.level * 100)} % as if they came by chance alone.</p>`}`}<//>`;
}

/** @param {{ parts: string[] }} props */
export default function WearingPlace({ parts: [at = "", id = ""] }) {
  const machine = definitions.value.byId.get(at);
  const part = machine?.parts?.find((/** @type {any} */ one) => one.id === id);
  if (!machine || !part) return html`<${Page} title="Wearing part" back=${machine ? `#/machine/${at}` : "#/shop"}><${Empty}>This part is not on this phone. It may have been taken out in Set-up.<//><//>`;
  const found = partOf(at, id);
  const foot = html`<${ButtonLink} big href=${`#/log/part?machine=${at}&part=${id}`}>Log a change<//>`;
  return html`<${Page} title=${part.name} back=${`#/machine/${at}`} aside=${html`<span>${machine.name}</span>`} foot=${foot}>
    <${Age} what="Lives, curve and advice" />
    <div class="part-grid"><div class="stack">
      <${Running} machine=${machine} part=${part} found=${found} />
      ${found ? html`<${Advice} found=${found} at=${at} /><${LivesPart} found=${found} />` : html`<${OwnList} machine=${machine} part=${part} />`}
    </div>${found && html`<div class="stack">${found.fit && html`<${Curve} fit=${found.fit} unit=${found.unit} />`}
      <${Trend} found=${found} /><${Groups} found=${found} /><${Drawer} stock=${found.stock} /></div>`}</div>
  <//>`;
}
