// The desk of an oil: what the hours use, whether too little or too much goes, and how long the tank lasts.
import { html } from "htm/preact";
import { ButtonLink, Cautions, Facts, Notice, Page, Section, StateMark, dayIn, figure, sayDay, sayWhen } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { kept } from "../ahead/kept.js";
import { OwnCharge } from "./mixing.js";
import { leftNow, sayLeft, saySure } from "./oil-words.js";
import { useOf } from "./points.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ machine: Definition, fluid: any, found: any }} DeskProps */

/** @type {Record<string, { mark: import("../../kit/state.js").Mark, word: string }>} */
const STATES = {
  few: { mark: "resting", word: "too few fills to tell" }, usual: { mark: "resting", word: "as usual" }, look: { mark: "due", word: "look at the glass" },
  little: { mark: "stop", word: "too little: ways may run dry" }, much: { mark: "late", word: "too much: a leak" },
};

const when = (/** @type {string} */ at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });

/** @param {DeskProps} props */
function Alarm({ fluid, found }) {
  const { mark, word } = STATES[found.state];
  const ways = fluid.kind === "way_oil";
  return html`<${Section} title="Does it use what it should?"><div class="fitness"><${StateMark} mark=${mark} word=${found.state === "little" && !ways ? "too little" : word} size=${34} /></div>
    ${found.why && html`<p>${found.why}</p>`}${found.do && html`<${Cautions} keys=${found.cautions} />`}
    ${found.do && html`<p class="todo"><b>To do:</b> ${found.do}</p>`}${found.sure !== null && html`<p>${saySure(found)}</p>`}
    <p><b>Use:</b> ${found.say}</p>
    ${found.state === "few" && html`<p class="soft">Log every fill, up to the mark each time: each one tells what the hours before it used.</p>`}<//>`;
}

/** @param {DeskProps} props */
function Left({ machine, fluid, found }) {
  const doc = docOf(world.value, machine);
  const left = leftNow(fluid, found, doc, kept.value?.machines[machine.id]?.meters ?? {}, kept.value?.as_of ?? "");
  const rows = [["The tank holds", html`<span class="num">${figure(fluid.capacity)}</span> ${fluid.unit}`],
    ...(found?.since ? [["Last known full or read", `${sayDay(dayIn(new Date(found.since.at), calendar.value.zone), calendar.value.today)}, ${figure(found.since.level, 3)} ${fluid.unit}`]] : []),
    ...(left.hours === null ? [] : [["Run since", `${figure(left.hours, 1)} ${found.meter.unit}`]])];
  return html`<${Section} title="Left in the tank">${left.left && ["little", "much", "look"].includes(found.state) && html`<p class="soft">Reckoned at the usual use, which it does not keep to just now: go by the glass.</p>`}<p class="left-said">${left.left ? sayLeft(left.left, fluid.unit, found.meter.unit, left.aWeek) : left.why}</p><${Facts} rows=${rows} /><//>`;
}

/** @param {DeskProps} props */
function Stretches({ fluid, found }) {
  if (found.stretches.length < 2) return html`<${Section} title="Fill by fill"><p class="soft">${found.stretches.length === 1 ? "One stretch" : "No stretch"} between two fills so far: two or more make a chart.</p><//>`;
  return html`<${Section} title="Fill by fill"><${Chart} ...${useOf(found.stretches, { unit: fluid.unit, per: found.meter?.unit ?? "h", zone: calendar.value.zone, sayAt: when })} />
    <p class="soft">Each point is the oil between two fills by the hours run between them. The broken lines hold 95 of 100 ordinary stretches; a diamond marks one that comes by chance less than once in a hundred and is a quarter less or a third more than usual.</p><//>`;
}

/** @param {DeskProps & { age: import("preact").ComponentChildren }} props */
export function OilDesk({ machine, fluid, found, age }) {
  const foot = html`<${ButtonLink} big href=${`#/log/fluid?machine=${machine.id}&fluid=${fluid.id}`}>Log a fill<//>`;
  return html`<${Page} title=${fluid.name} back=${`#/machine/${machine.id}`} aside=${html`<span>${machine.name}</span>`} foot=${foot}>
    ${age}<div class="part-grid desk"><div class="stack">${found && html`<${Alarm} machine=${machine} fluid=${fluid} found=${found} /><${Left} machine=${machine} fluid=${fluid} found=${found} />`}
      <${Section} title="This charge"><${OwnCharge} machine=${machine} fluid=${fluid} />
        ${found?.grade && html`<p class="soft">ISO VG ${found.grade.vg}: ${figure(found.grade.low, 1)} to ${figure(found.grade.high, 1)} ${found.grade.unit} (${found.grade.source}).</p>`}
        ${found?.faults.map((/** @type {string} */ fault) => html`<${Notice} key=${fault} title="Left out">${fault}<//>`)}<//></div>
    <div class="stack">${found && html`<${Stretches} machine=${machine} fluid=${fluid} found=${found} />`}</div></div><//>`;
}
