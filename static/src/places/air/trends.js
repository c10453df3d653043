// The exhausts: what their gauges show, beside commissioning, over time.
import { html } from "htm/preact";
import { ButtonLink, Empty, Facts, Page, Section, StateMark, capital, figure, sayWhen } from "../../kit/index.js";
import { Chart } from "../../kit/chart.js";
import { definitions } from "../../store/index.js";
import { Age, kept } from "../ahead/kept.js";
import { docOf, inUse } from "../standing.js";
import { calendar, world } from "../world.js";
import { airQuantities, chartOf, gaugeOf } from "./gauges.js";

/** @typedef {import("../../store/types.js").Definition} Definition @typedef {import("./gauges.js").Gauge} Gauge */

const when = (/** @type {string} */ at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });

/** The band of the check that reads a quantity at a machine, where it is in that unit. @param {string} machine @param {string} quantity @param {string} unit */
function bandOf(machine, quantity, unit) {
  const checks = inUse(definitions.value.checklists).filter((list) => list.machine === machine).flatMap((list) => list.checks);
  const base = quantity.split("/")[0];
  const found = checks.find((check) => check.quantity === quantity && check.band) ?? checks.find((check) => check.quantity === base && check.band);
  return found && (found.unit ?? "") === unit ? found.band : null;
}

/** The gauges of every machine that has any read. @returns {{ machine: Definition, gauges: Gauge[] }[]} */
export function exhausts() {
  return inUse(definitions.value.machines).flatMap((machine) => {
    const doc = docOf(world.value, machine);
    const had = kept.value?.machines[machine.id]?.air?.exhaust?.gauges ?? {};
    const gauges = airQuantities(doc.readings).flatMap((quantity) => {
      const own = doc.readings[quantity];
      const one = gaugeOf(quantity, own, had[quantity], doc.commissioned?.[quantity], bandOf(machine.id, quantity, own[0]?.unit ?? ""));
      return one ? [one] : [];
    });
    return gauges.length ? [{ machine, gauges }] : [];
  });
}

/** @param {{ gauge: Gauge }} props */
export function GaugeLine({ gauge }) {
  return html`<div class="sign-head"><b>${gauge.name}</b><${StateMark} mark=${gauge.mark} word=${gauge.word} /></div>
    <p><span class="num">${figure(gauge.value, 3)}</span> ${gauge.unit} <span class="soft">${when(gauge.at)}</span></p>`;
}

/** @param {{ gauge: Gauge, filter: any }} props */
function Shown({ gauge, filter }) {
  const drawn = gauge.series.length > 1;
  return html`<div class="gauge"><${GaugeLine} gauge=${gauge} />${gauge.say && html`<p>${gauge.say}</p>`}
    ${filter?.say && html`<p>${filter.say}</p>`}
    ${filter?.drop && html`<${Facts} rows=${[["Clean filter", `${figure(filter.clean, 3)} ${filter.unit}`], ["To be changed at", `${figure(filter.change_at, 3)} ${filter.unit}`], ["Filter", capital(filter.drop.word)]]} />`}
    ${drawn ? html`<${Chart} ...${chartOf(gauge, { zone: calendar.value.zone, sayAt: when })} />` : html`<p class="soft">One reading so far: two or more make a line.</p>`}
    ${gauge.static && gauge.commissioned !== null && html`<p class="soft">Clean or repair when it is more than 20 % off commissioning: 29 CFR 1910.94(a)(4), commonly cited, confirm.</p>`}</div>`;
}

export default function Trends() {
  const rows = exhausts();
  return html`<${Page} title="Exhaust trends" back="#/air" foot=${html`<${ButtonLink} big href="#/air/log/check">Log a check of the air<//>`}>
    <${Age} what="Lines of the past and filters" />
    ${!rows.length && html`<${Empty}>No gauge of an exhaust was read yet. A round that reads one, or a check of the air, begins its line.<//>`}
    <div class="families">${rows.map(({ machine, gauges }) => html`<${Section} key=${machine.id} title=${machine.name}>
      ${gauges.map((gauge) => html`<${Shown} key=${gauge.quantity} gauge=${gauge} filter=${kept.value?.machines[machine.id]?.air?.exhaust?.filters?.[gauge.quantity]} />`)}<//>`)}</div><//>`;
}
