// Coolant topped up: the machine and its coolant are chosen, the sum is the coolant desk's.
import { html } from "htm/preact";
import { Page, SelectField, useForm } from "../../kit/index.js";
import { MixForm } from "../coolant/mixing.js";
import { isMixed } from "../coolant/sum.js";
import { KeptPage, useKeeping } from "../keeping.js";
import { MachineField, NothingToLog, useMachine } from "./shared.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @param {import("./shared.js").LogProps} props */
export default function Coolant({ query }) {
  const which = useMachine(query, (machine) => machine.fluids.some(isMixed));
  const { machine } = which;
  const { problem, kept, keep } = useKeeping();
  if (!which.machines.length) return html`<${NothingToLog} title="Coolant top-up" missing="No machine has a coolant yet." />`;
  if (kept) return html`<${KeptPage} title="Coolant top-up" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/machine/${machine?.id}`, text: machine?.name ?? "Machine" }} />`;
  return html`<${Page} title="Coolant top-up" back="#/log"><div class="stack"><${MachineField} ...${which} /></div>
    ${machine && html`<${Fluid} key=${machine.id} machine=${machine} asked=${query.get("fluid")} keep=${keep} problem=${problem} />`}<//>`;
}

/** @param {{ machine: Definition, asked: string | null, problem: string | null, keep: import("../coolant/mixing.js").Keep }} props */
function Fluid({ machine, asked, problem, keep }) {
  const fluids = machine.fluids.filter(isMixed);
  const form = useForm({ fluid: fluids.find((/** @type {any} */ { id }) => id === asked)?.id ?? fluids[0].id });
  const fluid = fluids.find((/** @type {any} */ { id }) => id === form.values.fluid);
  return html`${fluids.length > 1 && html`<${SelectField} label="Fluid" options=${fluids.map((/** @type {any} */ one) => ({ value: one.id, text: one.name }))} ...${form.field("fluid")} />`}
    <p><a class="desk-link" href=${`#/coolant/${machine.id}/${fluid.id}`}>Trend, signs and losses of this coolant</a></p>
    <${MixForm} key=${fluid.id} machine=${machine} fluid=${fluid} keep=${keep} problem=${problem} />`;
}
