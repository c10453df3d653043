// A wearing part changed: why, how long it lived, what is left in the drawer, what the change sets off.
import { html } from "htm/preact";
import { Button, Cautions, ChoiceField, Form, NumberField, Page, SelectField, TextField, figure, readNumber, useForm } from "../../kit/index.js";
import { definitions, state } from "../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { lifeOf } from "../life.js";
import { sayPieces, timeToOrder } from "../orders.js";
import { docOf, inUse } from "../standing.js";
import { world } from "../world.js";
import { NO_NOTES, notedOf, readNotes, stickOutUnit } from "./part-notes.js";
import { MachineField, NothingToLog, armedBy, useMachine } from "./shared.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const REASONS = ["Worn out", "Broken", "Wrong for this work", "By the interval", "Other"];

/** The caution that goes with changing this kind of part. @param {{ kind: string }} part */
function cautionOf(part) {
  if (/blade/.test(part.kind)) return ["blade_change"];
  return /belt/.test(part.kind) ? ["belt_change"] : ["lock_out"];
}

/** What the change does, in words. @param {Definition} machine @param {any} part @param {string} item @param {number | null} used */
function consequences(machine, part, item, used) {
  const life = lifeOf(part, machine, docOf(world.value, machine));
  const drawer = item ? state.value.shop.stock[item] : null;
  const stocked = definitions.value.byId.get(item);
  const left = (drawer?.count ?? 0) - (used ?? 0);
  const armed = armedBy(machine, part);
  return [
    life ? `ends a life of ${figure(life.lived, 1)} ${life.unit}${life.past.length ? ` (before it: ${life.past.slice(0, 3).map((/** @type {number} */ one) => figure(one, 1)).join(", ")})` : ""}` : "begins to count its life",
    stocked && used !== null && `leaves ${sayPieces(left, stocked.unit)} of ${stocked.name} in the drawer`,
    stocked && left < 0 && "the drawer held fewer than that by the record: count it",
    stocked && timeToOrder(state.value.shop, stocked, left) && `time to order: the reorder point is ${figure(stocked.reorder_at)}`,
    ...armed.map((task) => `sets off: ${task.name}`),
  ];
}

/** What tells lives apart later on. @param {{ part: any, form: any, unit: string }} props */
function MoreNotes({ part, form, unit }) {
  const { held, edged } = notedOf(part.kind);
  return html`<details class="more" open=${form.errors.stickOut ? true : undefined}><summary><b>More about it</b><span class="soft">what the old one cut, grade of the new one${held ? ", stick-out" : ""}: if you like</span></summary>
    <div class="stack"><${TextField} label="The old one cut mostly" hint="Left empty, the batch log says it where it can." maxLength=${60} ...${form.field("material")} />
    <${TextField} label="Maker's grade of the new one" hint=${part.grade ? `Left empty: ${part.grade}, the usual.` : ""} maxLength=${60} ...${form.field("grade")} />
    ${edged && html`<${SelectField} label="Its edge" blank="Not noted" options=${[{ value: "new", text: "New" }, { value: "re-ground", text: "Re-ground" }]} ...${form.field("edge")} />`}
    ${held && html`<${TextField} label="Tool number" maxLength=${20} ...${form.field("tool")} />
      <${NumberField} label="Stick-out from the holder" unit=${unit} ...${form.field("stickOut")} />`}</div></details>`;
}

/** @param {import("./shared.js").LogProps} props */
export default function PartChange({ query }) {
  const which = useMachine(query, (machine) => machine.parts.length > 0);
  const { machine } = which;
  const form = useForm({ part: query.get("part") ?? "", reason: "", other: "", item: /** @type {string | null} */ (null), used: "1", note: "", ...NO_NOTES });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const { values } = form;
  if (!which.machines.length) return html`<${NothingToLog} title="Part changed" missing="No machine has wearing parts yet." />`;
  if (kept) return html`<${KeptPage} title="Part changed" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/wearing/${machine?.id}/${values.part}`, text: "Its lives" }} />`;
  const part = machine?.parts.find((/** @type {any} */ one) => one.id === values.part) ?? null;
  const item = values.item ?? part?.item ?? "";
  const used = readNumber(values.used, { name: "How many were used", min: 0, max: 1000 });
  const unit = stickOutUnit(definitions.value.shop?.units);
  const send = () => {
    const noted = readNotes(values, part?.kind ?? "", unit);
    const errors = {
      ...noted.errors,
      part: part ? null : "Nothing is chosen. Choose the machine and its part.",
      reason: values.reason ? null : "Nothing is chosen. Say why it was changed.",
      other: values.reason === "Other" && !values.other.trim() ? "The reason is empty. Write a few words." : null,
      used: item ? used.error : null,
    };
    if (!part || !machine || Object.values(errors).some(Boolean)) return form.setErrors(errors);
    const reason = values.reason === "Other" ? values.other.trim() : values.reason;
    const note = values.note.trim();
    const body = { part: part.id, reason, ...(item ? { item, used: used.value } : {}), ...noted.body, ...(note ? { note } : {}) };
    return keep([{ kind: "part.changed", machine: machine.id, body }], `${part.name} on ${machine.name} changed: ${reason}.`);
  };
  return html`<${Page} title="Part changed" back="#/log"><${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
    <${MachineField} ...${which} />
    ${machine && html`<${SelectField} label="Part" blank="Choose the part" options=${machine.parts.map((/** @type {any} */ one) => ({ value: one.id, text: one.name }))} ...${form.field("part")} />`}
    ${part && html`<${Cautions} keys=${cautionOf(part)} />`}
    <${ChoiceField} label="Why it was changed" options=${REASONS.map((value) => ({ value, text: value }))} ...${form.field("reason")} />
    ${values.reason === "Other" && html`<${TextField} label="The reason" ...${form.field("other")} />`}
    <${SelectField} label="From the drawer" blank="Nothing from the drawer" value=${item} onValue=${(/** @type {string} */ id) => form.set({ item: id })}
      options=${inUse(definitions.value.items).map(({ id, name }) => ({ value: id, text: name }))} />
    ${item && html`<${NumberField} label="How many were used" unit=${definitions.value.byId.get(item)?.unit} ...${form.field("used")} />`}
    ${part && html`<${MoreNotes} part=${part} form=${form} unit=${unit} />`}
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
    </div><div class="side">${machine && part && html`<${WillDo} lines=${consequences(machine, part, item, item ? used.value : null)} />`}
    <${Button} big>Keep the change<//></div></div><//><//>`;
}
