// The work of the weeks ahead in minutes: a bar a week in pieces by person, and the tasks behind each.
import { html } from "htm/preact";
import { counted, figure } from "../../kit/index.js";
import { definitions, state } from "../../store/index.js";
import { initialsOf } from "../names.js";
import { calendar } from "../world.js";
import { peopleOf, piecesOf } from "./bars.js";
import { kept } from "./kept.js";
import { plainDay, sayMinutes } from "./words.js";

/** @typedef {import("./bars.js").Week} Week */
/** @typedef {import("./bars.js").Piece} Piece */

/** People are told apart by their initials on the bar and by how it is filled; nobody's is an empty frame. */
const FILLS = 6;
const NARROW = 9;

/** @param {string | null} person */
const whoOf = (person) => (person ? initialsOf(person) : "nobody's yet");

/** @param {string | null} person @param {(string | null)[]} order */
const fillOf = (person, order) => (person === null ? "nobody" : String(order.indexOf(person) % FILLS));

/** The weeks that were worked out and are not over. @returns {Week[]} */
export function weeksAhead() {
  const { today } = calendar.value;
  /** @type {Week[]} */
  const weeks = kept.value?.workload ?? [];
  const over = (/** @type {string} */ monday) => new Date(Date.parse(`${monday}T12:00Z`) + 6 * 86_400_000).toISOString().slice(0, 10) < today;
  return weeks.filter(({ week }) => !over(week));
}

/** "this week", "next week", "week of 7 Dec". @param {string} monday @param {string} today */
function weekWord(monday, today) {
  const days = Math.round((Date.parse(`${monday}T00:00Z`) - Date.parse(`${today}T00:00Z`)) / 86_400_000);
  if (days <= 0) return "rest of this week";
  return days <= 7 ? "next week" : `week of ${plainDay(monday, today)}`;
}

/** @param {{ pieces: Piece[], order: (string | null)[], slim?: boolean }} props */
export function WeekBar({ pieces, order, slim }) {
  return html`<span class=${`load-bar${slim ? " load-slim" : ""}`} aria-hidden="true">${pieces.map(({ person, width }) => html`<i key=${person ?? "nobody"}
    class=${`load-piece load-${fillOf(person, order)}`} style=${`width:${width}%`}>${!slim && width >= NARROW && html`<b>${person ? initialsOf(person) : "?"}</b>`}</i>`)}</span>`;
}

/** What the fills mean, by initials alone. @param {{ order: (string | null)[] }} props */
export function ShortKey({ order }) {
  return html`<span class="strip-key" aria-hidden="true">${order.map((person) => html`<span key=${person ?? "nobody"}><i class=${`load-piece load-${fillOf(person, order)}`}></i>${person ? initialsOf(person) : "nobody's yet"}</span>`)}</span>`;
}

/** What the fills mean. @param {{ order: (string | null)[] }} props */
export function Key({ order }) {
  const name = (/** @type {string} */ id) => definitions.value.byId.get(id)?.name ?? initialsOf(id);
  return html`<ul class="load-key">${order.map((person) => html`<li key=${person ?? "nobody"}><i class=${`load-piece load-${fillOf(person, order)}`} aria-hidden="true">${
    person ? html`<b>${initialsOf(person)}</b>` : html`<b>?</b>`}</i>${person ? name(person) : "Nobody's yet: no one has done it often enough to say"}</li>`)}</ul>`;
}

/** @param {{ share: any }} props */
function TaskRow({ share }) {
  const { byId } = definitions.value;
  const { today } = calendar.value;
  const task = byId.get(share.task);
  const machine = share.machine ? byId.get(share.machine) : null;
  const at = share.machine ?? "shop";
  const raised = (share.machine ? state.value.machines[share.machine] : state.value.shop)?.raised[share.task];
  const when = share.on.length === 1 ? plainDay(share.on[0], today) : `${figure(share.times, 1)} times`;
  return html`<li><a href=${task?.checklist ? `#/round/${at}/${task.checklist}` : `#/task/${at}/${share.task}`}><b>${task?.name ?? raised?.title ?? "A task that was raised and is done by now"}</b>
    <span class="soft">${machine ? `${machine.name}, ` : ""}${when}, ${sayMinutes(share.minutes)}, ${whoOf(share.person)}</span></a></li>`;
}

/** @param {{ week: Week, pieces: Piece[], order: (string | null)[] }} props */
function WeekRow({ week, pieces, order }) {
  const { today } = calendar.value;
  const tasks = [...week.tasks].sort((a, b) => b.minutes - a.minutes);
  const shares = pieces.map(({ person, minutes }) => `${whoOf(person)} ${sayMinutes(minutes)}`).join(", ");
  return html`<details class="load-week"><summary><span class="load-head"><b>${weekWord(week.week, today)}</b><span class="num">${sayMinutes(week.minutes)}</span></span>
    <${WeekBar} pieces=${pieces} order=${order} /><span class="away">${shares}</span></summary>
    ${pieces.length > 0 && html`<p class="load-shares soft">${shares}.</p>`}
    ${tasks.length ? html`<ul class="lines">${tasks.map((share) => html`<${TaskRow} key=${share.task} share=${share} />`)}</ul>` : html`<p class="soft">Nothing falls due.</p>`}</details>`;
}

/** @param {{ weeks: Week[], order: (string | null)[] }} props */
function Table({ weeks, order }) {
  const { today } = calendar.value;
  const minutes = (/** @type {Week} */ { people }, /** @type {string | null} */ person) => people.find((one) => one.person === person)?.minutes ?? 0;
  return html`<details class="chart-table"><summary>As a table</summary><div class="chart-scroll"><table><thead><tr><th scope="col">Week from</th>
    <th scope="col">All, min</th>${order.map((person) => html`<th scope="col" key=${person ?? "nobody"}>${whoOf(person)}</th>`)}</tr></thead>
    <tbody>${weeks.map((week) => html`<tr key=${week.week}><th scope="row">${plainDay(week.week, today)}</th><td class="num">${figure(week.minutes, 0)}</td>
      ${order.map((person) => html`<td class="num" key=${person ?? "nobody"}>${figure(minutes(week, person), 0)}</td>`)}</tr>`)}</tbody></table></div></details>`;
}

/** @param {{ weeks: Week[] }} props */
export function Weeks({ weeks }) {
  const order = peopleOf(weeks);
  const pieces = piecesOf(weeks);
  const all = weeks.reduce((sum, { minutes }) => sum + minutes, 0);
  const nobody = weeks.reduce((sum, { people }) => sum + (people.find(({ person }) => person === null)?.minutes ?? 0), 0);
  return html`<p>${sayMinutes(all)} of upkeep in ${counted(weeks.length, "week")}${nobody > 0 ? `, ${sayMinutes(nobody)} of it nobody's yet` : ""}.</p>
    <${Key} order=${order} />
    <div class="load">${weeks.map((week, index) => html`<${WeekRow} key=${week.week} week=${week} pieces=${pieces[index] ?? []} order=${order} />`)}</div>
    <${Table} weeks=${weeks} order=${order} />
    <p class="soft">Minutes are those of the task as set up, on the day it is likely due; a task is put down to whoever did it
      at least half of the times in the last year. The first week counts from the day this was worked out.</p>`;
}
