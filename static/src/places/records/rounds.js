// Start-up rounds through a year: done, late, missed, by day, of one machine or the whole shop.
import { html } from "htm/preact";
import { Empty, Page, Section, counted, figure } from "../../kit/index.js";
import { DayGrid } from "./day-grid.js";
import { Age, Whose, machinesIn, usePast } from "./kept.js";
import { SAID, byMonth, countOf, sayMonth, shareOf, shopDays } from "./past.js";

/** @typedef {import("./past.js").Rounds} Rounds */

/** "211 done, 3 late, 5 missed: 96 % in time". @param {Rounds} counts */
function sayCounts(counts) {
  const share = shareOf(counts);
  if (share === null) return "no round was called for";
  return `${figure(counts.done, 0)} done, ${figure(counts.late, 0)} late, ${figure(counts.missed, 0)} missed: ${figure(share, 0)} % in time`;
}

/** A day of the whole shop. @param {import("./past.js").ShopDay} day */
function sayShop({ letter, counts: { done, late, missed } }) {
  const all = done + late + missed;
  return all ? `${counted(done, "round")} done${late ? `, ${late} late` : ""}${missed ? `, ${missed} missed` : ""}` : SAID[letter];
}

/** @param {{ rows: [string, Rounds, string?][], head: string }} props */
function Counts({ rows, head }) {
  return html`<div class="chart-table few-columns"><table><thead><tr><th scope="col">${head}</th><th scope="col">Done</th><th scope="col">Late</th><th scope="col">Missed</th><th scope="col">In time, %</th></tr></thead>
    <tbody>${rows.map(([name, counts, href]) => html`<tr key=${name}><th scope="row">${href ? html`<a href=${href}>${name}</a>` : name}</th>
      ${[counts.done, counts.late, counts.missed].map((value, place) => html`<td class="num" key=${place}>${value}</td>`)}<td class="num">${figure(shareOf(counts), 0)}</td></tr>`)}</tbody></table></div>`;
}

/** @param {{ past: any, machine: string }} props */
function Year({ past, machine }) {
  const machines = machinesIn(past, ({ rounds }) => rounds !== null);
  const days = shopDays(machines.map(({ id }) => past.machines[id].rounds));
  const letters = machine ? [...(past.machines[machine]?.rounds ?? "")] : days.map(({ letter }) => letter);
  const counts = countOf(machine ? letters.join("") : machines.map(({ id }) => past.machines[id].rounds).join(""));
  const name = machines.find(({ id }) => id === machine)?.name ?? "The whole shop";
  const monthly = byMonth(past.from, letters.length).map(({ month, days: own }) => /** @type {[string, Rounds]} */ ([sayMonth(month),
    countOf(machine ? own.map(({ at }) => letters[at]).join("") : machines.map(({ id }) => past.machines[id].rounds.slice(own[0].at, own[0].at + own.length)).join(""))]));
  if (!letters.length) return html`<${Empty}>No machine here has a start-up list.<//>`;
  return html`<p class="told">${sayCounts(counts)}.</p>
    <${DayGrid} title=${`${name}: start-up rounds by day`} first=${past.from} letters=${letters} say=${(/** @type {number} */ at) => (machine ? SAID[letters[at]] : sayShop(days[at]))}
      more=${(/** @type {number} */ _, /** @type {string} */ day) => html`<a class="all-entries" href=${`#/records?${machine ? `machine=${machine}&` : ""}from=${day}&to=${day}`}>Entries of that day</a>`} />
    <details class="chart-table"><summary>As a table, by month</summary><${Counts} head="Month" rows=${monthly} /></details>
    ${!machine && html`<${Section} title="By machine"><${Counts} head="Machine" rows=${machines.map(({ id, name: own }) => [own, countOf(past.machines[id].rounds), `#/records/rounds?machine=${id}`])} /><//>`}`;
}

/** @param {{ query: URLSearchParams }} props */
export default function RoundsPage({ query }) {
  const past = usePast();
  const machine = query.get("machine") ?? "";
  return html`<${Page} title="Rounds kept" back="#/records"><${Age} />
    ${past && html`<${Whose} page="rounds" machine=${machine} machines=${machinesIn(past, ({ rounds }) => rounds !== null)} /><${Year} key=${machine} past=${past} machine=${machine} />`}
    <details><summary>How it is told</summary><p>A machine that is used wants a start-up round first, on the same day and since it last came back into service. Its first use
      is the first entry that counts it on: a batch, an amount added to a meter, or a counter that says it just ran. <b>Done</b>: the round came before. <b>Late</b>: it came after.
      <b>Missed</b>: there was none. Of the whole shop the worst machine of a day is drawn. A day without use is nobody's fault, whatever its mark.</p></details><//>`;
}
