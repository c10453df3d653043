// Tasks on time: the share by month, and by task.
import { html } from "htm/preact";
import { Empty, Page, Section, figure, sayDay } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { nameOf } from "../names.js";
import { calendar } from "../world.js";
import { Age, Whose, machinesIn, usePast } from "./kept.js";
import { middleOf, onTimeBy, sayMonth, tasksOf } from "./past.js";

/** @param {{ task: ReturnType<typeof tasksOf>[number] }} props */
function TaskRow({ task }) {
  const { id, name, machine, on, late, put, share, lateSince } = task;
  const marks = [`${on} of ${on + late} on time`, put ? `${put} put off first` : "", lateSince ? `late since ${sayDay(lateSince, calendar.value.today)}, not done yet` : ""].filter(Boolean);
  return html`<li><a href=${`#/task/${machine ?? "shop"}/${id}`}><b>${name}</b> <span class="num">${figure(share, 0)} %</span>
    <span class="soft">${machine ? `${nameOf(machine)}. ` : ""}${marks.join(", ")}</span></a></li>`;
}

/** @param {{ past: any, machine: string }} props */
function Share({ past, machine }) {
  const { share, onTime, late, putOff } = onTimeBy(past.on_time, past.months, machine);
  const [on, behind] = [onTime, late].map((row) => row.reduce((sum, one) => sum + one, 0));
  const tasks = tasksOf(past.on_time, machine);
  if (!tasks.length) return html`<${Empty}>No task with a limit has fallen due here in these weeks.<//>`;
  const x = { name: "Month", kind: "time", values: past.months.map(middleOf), say: (/** @type {number} */ at) => sayMonth(new Date(at * 1000).toISOString().slice(0, 7)) };
  const count = (/** @type {string} */ name, /** @type {number[]} */ values) => ({ name, unit: "", values, draw: "line", places: 0 });
  return html`<p class="told">${figure(on, 0)} of ${figure(on + behind, 0)} on time: ${figure((100 * on) / (on + behind), 0)} %.</p>
    <${Chart} title="Share done on time" x=${x} span=${[0, 100]} zone=${past.time_zone} series=${[{ name: "on time", unit: "%", values: share, draw: "line", places: 0 }]} />
    <${Chart} title="How many" x=${x} zone=${past.time_zone} series=${[count("on time", onTime), count("late", late), count("put off first", putOff)]} />
    <${Section} title="By task, the least often on time first"><ul class="lines lines-below">${tasks.map((task) => html`<${TaskRow} key=${task.id} task=${task} />`)}</ul><//>`;
}

/** @param {{ query: URLSearchParams }} props */
export default function OnTimePage({ query }) {
  const past = usePast();
  const machine = query.get("machine") ?? "";
  return html`<${Page} title="Tasks on time" back="#/records"><${Age} />
    ${past && html`<${Whose} page="on-time" machine=${machine} machines=${machinesIn(past)} shop /><${Share} key=${machine} past=${past} machine=${machine} />`}
    <details><summary>How it is told</summary><p>Each piece of work is settled once. It is <b>on time</b> when it is done before it falls late, in the month in which it is done. It is <b>late</b> in the month in which
      it falls late, however long it is left after that. By the calendar it falls late on the day after its date; by a meter, when it has run more than a tenth past its limit (the tenth is
      this app's choice, the same by which Today says late).</p>
      <p><b>Put off</b>: who put it off before it fell late gave it another date, and that date counts; how often this was done is counted beside. Put off when it was late already, it stays late.
      A machine out of service rests its meters. Each task is judged by what was set up at that time.</p>
      <p>Not counted: start-up rounds (they have their own page), tasks that only follow a reading, and tasks raised once: these have no date to be late by.</p></details><//>`;
}
