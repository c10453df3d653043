// The desk of one fluid: coolant mixed and watched, oil used up, or only how old the charge is. Without a name: all of them.
import { html } from "htm/preact";
import { ButtonLink, Empty, Page, Section, figure } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { Age, kept } from "../ahead/kept.js";
import { inUse } from "../standing.js";
import { CoolantDesk } from "./desk.js";
import { OwnCharge } from "./mixing.js";
import { OilDesk } from "./oil.js";
import { isMixed } from "./sum.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** A fluid that is neither mixed nor an oil. @param {{ machine: Definition, fluid: any }} props */
function OtherDesk({ machine, fluid }) {
  const foot = html`<${ButtonLink} big href=${`#/log/fluid?machine=${machine.id}&fluid=${fluid.id}`}>Log a fill or a change<//>`;
  return html`<${Page} title=${fluid.name} back=${`#/machine/${machine.id}`} aside=${html`<span>${machine.name}</span>`} foot=${foot}>
    <p>It holds <span class="num">${figure(fluid.capacity)}</span> ${fluid.unit}.</p><${OwnCharge} machine=${machine} fluid=${fluid} /><//>`;
}

/** @param {{ at: string }} props a machine's id, or empty for the whole shop */
function Fluids({ at }) {
  const machines = inUse(definitions.value.machines).filter(({ id, fluids }) => fluids.length && (!at || id === at));
  return html`<${Page} title="Coolant and oils" back="#/shop">${machines.length ? "" : html`<${Empty}>No machine has fluids yet. <a href="#/setup">Add them in Set-up</a>.<//>`}
    ${machines.map((machine) => html`<${Section} key=${machine.id} title=${machine.name}><ul class="lines">${machine.fluids.map((/** @type {any} */ fluid) => html`<li key=${fluid.id}>
      <a href=${`#/coolant/${machine.id}/${fluid.id}`}><b>${fluid.name}</b><span class="soft">holds ${figure(fluid.capacity)} ${fluid.unit}</span></a></li>`)}</ul><//>`)}<//>`;
}

/** @param {{ parts: string[] }} props */
export default function CoolantPlace({ parts: [at = "", id = ""] }) {
  const machine = definitions.value.byId.get(at);
  if (!id) return html`<${Fluids} at=${machine?.fluids ? at : ""} />`;
  const fluid = machine?.fluids?.find((/** @type {any} */ one) => one.id === id);
  if (!machine || !fluid) return html`<${Page} title="Fluid" back=${machine ? `#/machine/${at}` : "#/shop"}><${Empty}>This fluid is not on this phone. It may have been taken out in Set-up.<//><//>`;
  const found = kept.value?.machines[at]?.fluids?.[id] ?? null;
  const age = html`<${Age} what="Trend and use" />`;
  if (isMixed(fluid)) return html`<${CoolantDesk} machine=${machine} fluid=${fluid} found=${found} age=${age} />`;
  if (fluid.kind.endsWith("oil")) return html`<${OilDesk} machine=${machine} fluid=${fluid} found=${found} age=${age} />`;
  return html`<${OtherDesk} machine=${machine} fluid=${fluid} />`;
}
