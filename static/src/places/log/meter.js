// A counter's face read; going backwards is refused unless it is a new counter.
import { html } from "htm/preact";
import { Button, Form, NumberField, Page, SelectField, TickField, figure, readNumber, sayWhen, useForm } from "../../kit/index.js";
import { emptyDoc, fold } from "../../core/fold.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { MachineField, NothingToLog, useMachine } from "./shared.js";

/** @typedef {import("../../core/fold.js").Meter} Running */

/** What the meter's total will be: the record's own rule, tried on a copy. @param {Running} running @param {number} value @param {boolean} replaced */
function newTotal(running, value, replaced) {
  const doc = { ...emptyDoc(), meters: { tried: /** @type {import("../../core/fold.js").Meter} */ ({ ...running }) } };
  fold(doc, { id: "", kind: "meter.read", machine: "", by: "", at: "", body: { meter: "tried", value, replaced } }, "machine:");
  return doc.meters.tried?.total ?? 0;
}

/** @param {import("./shared.js").LogProps} props */
export default function MeterRead({ query }) {
  const which = useMachine(query, (machine) => machine.meters.length > 0);
  const { machine } = which;
  const form = useForm({ meter: query.get("meter") ?? "", value: "", replaced: false });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const { values } = form;
  if (!which.machines.length) return html`<${NothingToLog} title="Meter reading" missing="No machine has meters yet." />`;
  if (kept) return html`<${KeptPage} title="Meter reading" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/machine/${machine?.id}`, text: machine?.name ?? "Machine" }} />`;
  const meter = machine?.meters.find((/** @type {any} */ one) => one.id === values.meter) ?? (machine?.meters.length === 1 ? machine.meters[0] : null);
  const running = machine && meter ? docOf(world.value, machine).meters[meter.id] ?? null : null;
  const read = readNumber(values.value, { name: "The reading", min: 0, max: 1e9 });
  const backwards = read.value !== null && running?.face != null && read.value < running.face && !values.replaced;
  const send = () => {
    const errors = {
      meter: meter ? null : "Nothing is chosen. Choose the machine and its meter.",
      value: read.error ?? (backwards ? `The reading ${figure(read.value)} is below the last one, ${figure(running?.face)}. Read it again, or tick "New counter".` : null),
    };
    if (!meter || !machine || Object.values(errors).some(Boolean)) return form.setErrors(errors);
    const body = { meter: meter.id, value: read.value, ...(values.replaced ? { replaced: true } : {}) };
    return keep([{ kind: "meter.read", machine: machine.id, body }], `${meter.name} on ${machine.name}: ${figure(read.value)} ${meter.unit}.`);
  };
  const last = running?.face != null && running.face_at ? `Last read ${figure(running.face)}, ${sayWhen(running.face_at, { zone: calendar.value.zone, now: world.value.now })}.` : "Not read before.";
  return html`<${Page} title="Meter reading" back="#/log"><${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
    <${MachineField} ...${which} />
    ${machine && machine.meters.length > 1 && html`<${SelectField} label="Meter" blank="Choose the meter" options=${machine.meters.map((/** @type {any} */ one) => ({ value: one.id, text: one.name }))} ...${form.field("meter")} />`}
    <${NumberField} label="What the counter shows" unit=${meter?.unit} hint=${meter ? last : ""} ...${form.field("value")} />
    <${TickField} label="New counter" hint="The counter was replaced or reset: its figure starts afresh, the total stays." ...${form.tick("replaced")} />
    </div><div class="side">${meter && read.value !== null && !backwards && html`<${WillDo} lines=${willDo(running, read.value, values.replaced, meter)} />`}
    <${Button} big>Keep the reading<//></div></div><//><//>`;
}

/** @param {Running | null} running @param {number} value @param {boolean} replaced @param {{ name: string, unit: string }} meter */
function willDo(running, value, replaced, meter) {
  const from = running ?? { total: 0, base: 0, face: null, face_at: null, at: null, backwards: 0 };
  const total = newTotal(from, value, replaced);
  if (total === from.total && (replaced || from.face === null)) {
    return [`the total stays ${figure(from.total)} ${meter.unit} and counts on from ${figure(value)} on the counter`];
  }
  return [`moves ${meter.name} from ${figure(from.total)} to ${figure(total)} ${meter.unit}`];
}
