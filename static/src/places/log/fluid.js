// Oil and other fluids: filled up, or the whole charge changed.
import { html } from "htm/preact";
import { Button, Cautions, ChoiceField, Form, NumberField, Page, SelectField, TextField, figure, readNumber, sayDay, useForm } from "../../kit/index.js";
import { dayOf } from "../../core/facts.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { MachineField, NothingToLog, useMachine } from "./shared.js";

/** What the entry does. @param {any} fluid @param {import("../../core/fold.js").Doc} doc @param {boolean} changed @param {number | null} amount */
function consequences(fluid, doc, changed, amount) {
  const kept = doc.fluids[fluid.id];
  const since = kept?.changed_at ? ` since ${sayDay(dayOf(kept.changed_at, calendar.value.zone), calendar.value.today)}` : "";
  if (changed) return [`the ${fluid.name.toLowerCase()} counts as new from now on`, kept?.added > 0 && `ends a charge that took ${figure(kept.added)} ${fluid.unit}${since}`];
  return [amount !== null && `makes ${figure((kept?.added ?? 0) + amount)} ${fluid.unit} added${since}`,
    amount !== null && amount > fluid.capacity && `that is more than it holds (${figure(fluid.capacity)} ${fluid.unit}): check the figure, or look for a leak`];
}

/** @param {import("./shared.js").LogProps} props */
export default function Fluid({ query }) {
  const which = useMachine(query, (machine) => machine.fluids.length > 0);
  const { machine } = which;
  const form = useForm({ fluid: query.get("fluid") ?? "", what: "added", amount: "", strength: "", note: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const { values } = form;
  if (!which.machines.length) return html`<${NothingToLog} title="Oil and fluids" missing="No machine has fluids yet." />`;
  if (kept) return html`<${KeptPage} title="Oil and fluids" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/machine/${machine?.id}`, text: machine?.name ?? "Machine" }} />`;
  const fluid = machine?.fluids.find((/** @type {any} */ one) => one.id === values.fluid) ?? (machine?.fluids.length === 1 ? machine.fluids[0] : null);
  const changed = values.what === "changed";
  const amount = readNumber(values.amount, { name: "How much", above: 0, max: 100_000, optional: changed });
  const strength = readNumber(values.strength, { name: "The strength", min: 0, max: 100, optional: true });
  const send = () => {
    const errors = { fluid: fluid ? null : "Nothing is chosen. Choose the machine and its fluid.", amount: amount.error, strength: changed ? strength.error : null };
    if (!fluid || !machine || Object.values(errors).some(Boolean)) return form.setErrors(errors);
    const note = values.note.trim() ? { note: values.note.trim() } : {};
    const filled = amount.value === null ? {} : { amount: amount.value, unit: fluid.unit };
    const body = changed ? { fluid: fluid.id, ...filled, ...(strength.value === null ? {} : { strength: strength.value }), ...note } : { fluid: fluid.id, ...filled, ...note };
    return keep([{ kind: changed ? "fluid.changed" : "fluid.added", machine: machine.id, body }],
      changed ? `${fluid.name} on ${machine.name}: charge changed.` : `${fluid.name} on ${machine.name}: ${figure(amount.value)} ${fluid.unit} filled in.`);
  };
  return html`<${Page} title="Oil and fluids" back="#/log"><${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
    <${MachineField} ...${which} />
    ${machine && machine.fluids.length > 1 && html`<${SelectField} label="Fluid" blank="Choose the fluid" options=${machine.fluids.map((/** @type {any} */ one) => ({ value: one.id, text: one.name }))} ...${form.field("fluid")} />`}
    <${ChoiceField} label="What was done" options=${[{ value: "added", text: "Filled up" }, { value: "changed", text: "Whole charge changed", note: "drained and filled anew" }]} ...${form.field("what")} />
    <${NumberField} label=${changed ? "How much went in" : "How much"} unit=${fluid?.unit} optional=${changed} hint=${fluid ? `It holds ${figure(fluid.capacity)} ${fluid.unit}.${!changed && fluid.kind.endsWith("oil") ? " Fill up to the mark: what it takes is what the hours since the last fill have used." : ""}` : ""} ...${form.field("amount")} />
    ${changed && html`<p class="soft">Drained and left empty? Hang a tag on the machine, and log the change when it is filled again. Only part of it drawn off? Log what was filled in, up to the mark.</p>`}
    ${machine && fluid && html`<p><a class="desk-link" href=${`#/coolant/${machine.id}/${fluid.id}`}>Use, trend and age of this fluid</a></p>`}
    ${changed && fluid?.band && html`<${NumberField} label="Strength of the new charge" unit="%" optional ...${form.field("strength")} />`}
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
    </div><div class="side">${fluid && html`<${Cautions} keys=${fluid.kind === "coolant" ? ["concentrate", "coolant_skin"] : changed ? ["lock_out"] : []} />`}
    ${machine && fluid && html`<${WillDo} lines=${consequences(fluid, docOf(world.value, machine), changed, amount.value)} />`}
    <${Button} big>Keep it<//></div></div><//><//>`;
}
