// Time: minutes of upkeep and hours out of service, by month and by machine.
import { html } from "htm/preact";
import { Facts, Page, Section, figure } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { sayMinutes } from "../ahead/words.js";
import { Age, Whose, machinesIn, usePast } from "./kept.js";
import { middleOf, monthOf, sayMonth } from "./past.js";

/** @typedef {import("./past.js").Month} Month */

/** @param {Month[]} months @param {keyof Month} key */
const sum = (months, key) => months.reduce((all, one) => all + one[key], 0);

/** @param {number} hours */
const sayHours = (hours) => `${figure(hours, 1)} h`;

/** @param {{ past: any, machine: string }} props */
function Out({ past, machine }) {
  const { times_out: times, mean_out_h: mean, available } = past.machines[machine];
  return html`<${Facts} rows=${[["Times out of service", figure(times, 0)], ["Mean time out", mean === null ? "never out" : `${sayHours(mean)} by the clock`],
    ["Available", available === null ? "no shop hours in these weeks" : `${figure(100 * available, 1)} % of the shop's hours`]]} />`;
}

/** @param {{ past: any, months: Month[] }} props */
function Charts({ past, months }) {
  const x = { name: "Month", kind: "time", values: past.months.map(middleOf), say: (/** @type {number} */ at) => sayMonth(new Date(at * 1000).toISOString().slice(0, 7)) };
  /** @param {string} name @param {string} unit @param {keyof Month} key @param {string} [draw] */
  const line = (name, unit, key, draw = "line") => ({ name, unit, values: months.map((one) => one[key]), draw, places: unit === "h" ? 1 : 0 });
  return html`<${Chart} title="Time of rounds and tasks, min" x=${x} zone=${past.time_zone} series=${[line("rounds, as measured", "min", "rounds_min"), line("tasks, as noted", "min", "tasks_min"), line("tasks, as set up", "min", "set_up_min")]} />
    <${Chart} title="Out of service, h" x=${x} zone=${past.time_zone} series=${[line("within the shop's hours", "h", "out_shop_h", "bars"), line("by the clock", "h", "out_h", "line")]} />`;
}

/** @param {{ past: any }} props */
function ByMachine({ past }) {
  const rows = machinesIn(past).map(({ id, name }) => {
    const own = past.months.map((/** @type {string} */ month) => monthOf([past.machines[id]], month));
    return { id, name, spent: sum(own, "rounds_min") + sum(own, "tasks_min") + sum(own, "set_up_min"), out: sum(own, "out_shop_h"), available: past.machines[id].available };
  }).sort((a, b) => b.spent - a.spent);
  return html`<${Section} title="By machine"><div class="chart-table few-columns"><table><thead><tr><th scope="col">Machine</th><th scope="col">Upkeep, h</th><th scope="col">Out, shop h</th><th scope="col">Available, %</th></tr></thead>
    <tbody>${rows.map(({ id, name, spent, out, available }) => html`<tr key=${id}><th scope="row"><a href=${`#/records/time?machine=${id}`}>${name}</a></th>
      <td class="num">${figure(spent / 60, 1)}</td><td class="num">${figure(out, 1)}</td><td class="num">${available === null ? "–" : figure(100 * available, 1)}</td></tr>`)}</tbody></table></div><//>`;
}

/** @param {{ past: any, machine: string }} props */
function Time({ past, machine }) {
  const subjects = machine === "shop" ? [past.shop] : machine ? [past.machines[machine]].filter(Boolean) : [...Object.values(past.machines), past.shop];
  const months = past.months.map((/** @type {string} */ month) => monthOf(subjects, month));
  const spent = sum(months, "rounds_min") + sum(months, "tasks_min") + sum(months, "set_up_min");
  return html`<p class="told">${sayMinutes(spent)} of upkeep; ${sayHours(sum(months, "out_shop_h"))} out of service within the shop's hours, ${sayHours(sum(months, "out_h"))} by the clock.</p>
    <${Charts} past=${past} months=${months} />${past.machines[machine] && html`<${Out} past=${past} machine=${machine} />`}${!machine && html`<${ByMachine} past=${past} />`}`;
}

/** @param {{ query: URLSearchParams }} props */
export default function TimePage({ query }) {
  const past = usePast();
  const machine = query.get("machine") ?? "";
  return html`<${Page} title="Time spent, time out" back="#/records"><${Age} />
    ${past && html`<${Whose} page="time" machine=${machine} machines=${machinesIn(past)} shop /><${Time} key=${machine} past=${past} machine=${machine} />`}
    <details><summary>How it is told</summary><p><b>Upkeep</b>: a round takes the seconds that were measured; a task the minutes noted when it was done, or, where nobody noted any, those it is set up with. Other work is not timed.</p>
      <p><b>Out of service</b>: from a tag's hanging to its taking off; of several at once the time counts once. Shop hours are those of the shifts in Set-up, without holidays.
      <b>Available</b> is the share of the shop's hours in which no tag hung: operational availability, all downtime included, and <b>mean time out</b> is the mean downtime, as in the U.S. Army's TM 5-698-2, table C-1.</p></details><//>`;
}
