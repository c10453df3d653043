// What comes at a machine in the next 8 weeks: for each task a bar from the early to the late date, marked at the likely one.
import { html } from "htm/preact";
import { Section, StateMark } from "../../kit/index.js";
import { calendar } from "../world.js";
import { barOf, mondays } from "./bars.js";
import { Age, kept, toldOf } from "./kept.js";
import { plainDay } from "./words.js";

/** @typedef {import("../standing.js").Judged} Judged */
/** @typedef {{ judged: Judged, told: import("./words.js").Told, bar: import("./bars.js").Bar }} Row */

/** A daily round is no date to plan by. @param {any} rule @returns {boolean} */
const daily = (rule) => Boolean(rule.each) || Boolean(rule.first_of?.some(daily));

/** @param {Judged[]} tasks @param {string} today @returns {Row[]} the nearest first */
function rowsOf(tasks, today) {
  const rows = tasks.filter(({ task }) => !daily(task.rule)).flatMap((judged) => {
    const told = toldOf(judged.task);
    const bar = told.dates && barOf(told.dates, today);
    return bar ? [{ judged, told, bar }] : [];
  });
  return rows.sort((a, b) => (a.bar.mark ?? 100) - (b.bar.mark ?? 100) || a.bar.start - b.bar.start);
}

/** What has no date to draw: it rests with its machine, was done since, or its meter has not moved yet. @param {{ tasks: Judged[] }} props */
function Undated({ tasks }) {
  const rows = tasks.flatMap(({ task }) => {
    const told = toldOf(task);
    return told.dates || told.silent || daily(task.rule) ? [] : [html`<li key=${task.id}><b>${task.name}</b> ${told.said}. <span class="soft">${told.rests}</span></li>`];
  });
  return rows.length > 0 && html`<ul class="ahead-undated">${rows}</ul>`;
}

/** @param {{ bar: import("./bars.js").Bar }} props */
function Drawn({ bar }) {
  return html`<span class="ahead-track" aria-hidden="true">${!bar.single && html`<i class=${`ahead-range${bar.beyond ? " ahead-beyond" : ""}`} style=${`left:${bar.start}%;width:${bar.width}%`} />`}
    ${bar.mark !== null && html`<i class=${bar.single ? "ahead-date" : "ahead-likely"} style=${`left:${bar.mark}%`} />`}</span>`;
}

/** @param {{ rows: Row[], today: string }} props */
function Table({ rows, today }) {
  const day = (/** @type {string | null} */ one) => (one ? plainDay(one, today) : "beyond three years");
  return html`<details class="chart-table"><summary>As a table</summary><div class="chart-scroll"><table><thead><tr>
    ${["Task", "Early", "Likely", "Late"].map((name) => html`<th scope="col" key=${name}>${name}</th>`)}</tr></thead>
    <tbody>${rows.map(({ judged: { task }, told: { dates } }) => html`<tr key=${task.id}><th scope="row">${task.name}</th>
      <td class="num">${day(dates?.early ?? null)}</td><td class="num">${day(dates?.likely ?? null)}</td><td class="num">${day(dates?.late ?? null)}</td></tr>`)}</tbody></table></div></details>`;
}

/** @param {{ tasks: Judged[], at: string }} props `at`: the machine's id, or "shop" */
export function Upcoming({ tasks, at }) {
  const { today } = calendar.value;
  if (!tasks.some(({ task }) => !daily(task.rule))) return null;
  if (!kept.value) return html`<${Section} title="The next 8 weeks" area="ahead"><${Age} /><//>`;
  const rows = rowsOf(tasks, today);
  const ranges = rows.some(({ bar }) => !bar.single);
  return html`<${Section} title="The next 8 weeks" area="ahead"><${Age} />
    ${rows.length === 0 ? html`<p class="soft">Nothing but the daily rounds falls due here.</p>` : html`<div class="ahead-axis" aria-hidden="true">${mondays(today).map(
      ({ at: place, text }) => html`<span key=${place} style=${`left:${place}%`}>${text}</span>`)}</div>
    <ul class="ahead">${rows.map(({ judged: { task, due }, told, bar }) => html`<li key=${task.id}>
      <a href=${task.checklist ? `#/round/${at}/${task.checklist}` : `#/task/${at}/${task.id}`}><b>${task.name}</b><span>${told.said}</span></a>
      <${Drawn} bar=${bar} />
      ${(told.rests || due.state !== "resting") && html`<p class="ahead-rests">${due.state !== "resting" && html`<${StateMark} mark=${due.state} size=${15} /> `}<span class="soft">${told.rests}</span></p>`}</li>`)}</ul>
    ${ranges && html`<p class="ahead-key soft">The day lies within its bar eight times in ten; the stroke is the likely day. A diamond alone is a date that is certain, or today.</p>`}
    <${Table} rows=${rows} today=${today} />`}
    <${Undated} tasks=${tasks} /><//>`;
}

/** The server's sentence for a machine's meter: how much a week, from what. @param {string} machine @param {string} meter */
export const usedOf = (machine, meter) => kept.value?.machines[machine]?.meters[meter] ?? null;
