// Coolant topped up: level and strength in, water and concentrate out, and both logged.
import { html } from "htm/preact";
import { BandStrip, Button, Cautions, Form, NumberField, Page, SelectField, TextField, figure, readNumber, useForm } from "../../kit/index.js";
import { strength, topUp } from "../../core/mix.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { judgeReading } from "../readings.js";
import { docOf, quantityOf } from "../standing.js";
import { world } from "../world.js";
import { MachineField, NothingToLog, faultOf, useMachine } from "./shared.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ level: string, reading: string, target: string, fill: string }} Typed */

const NAMES = { capacity: "what the sump holds", level: "the level", percent: "the strength", reading: "the refractometer", target: "the target", fill_to: "fill up to" };
const FIELDS = /** @type {Record<string, keyof Typed>} */ ({ percent: "reading", fill_to: "fill", capacity: "level" });

/** Fluids whose strength has a band or a factor: those that are mixed. @param {Definition} machine @returns {any[]} */
const mixedIn = (machine) => machine.fluids.filter((/** @type {any} */ fluid) => fluid.band || fluid.factor || fluid.kind === "coolant");

/** The smallest amount that a jug measures, in the fluid's unit: a fluid gallon's twentieth, a tenth of a litre. @param {string} unit */
const stepOf = (unit) => (unit === "gal" ? 0.05 : 0.1);

/**
 * The sum, or the error by field.
 * @param {any} fluid @param {Typed} typed
 * @returns {{ mix: ReturnType<typeof topUp>, percent: number, errors: null } | { mix: null, percent: number | null, errors: Record<string, string | null> }}
 */
function work(fluid, typed) {
  const level = readNumber(typed.level, { name: "The level", min: 0 });
  const reading = readNumber(typed.reading, { name: "The refractometer", min: 0 });
  const target = readNumber(typed.target, { name: "The target", above: 0 });
  const fill = readNumber(typed.fill, { name: "Fill up to", above: 0 });
  const errors = { level: level.error, reading: reading.error, target: target.error, fill: fill.error };
  try {
    const percent = reading.value === null ? null : strength(reading.value, fluid.factor ?? 1);
    if (level.value === null || percent === null || target.value === null || fill.value === null) return { mix: null, percent, errors };
    const mix = topUp({ capacity: fluid.capacity, level: level.value, percent, target: target.value, fill_to: fill.value, step: stepOf(fluid.unit) });
    return { mix, percent, errors: null };
  } catch (error) {
    const fault = faultOf(error, NAMES);
    return { mix: null, percent: null, errors: { ...errors, [FIELDS[fault.field] ?? fault.field]: fault.text } };
  }
}

/** The sum in words. @param {{ fluid: any, mix: ReturnType<typeof topUp> }} props */
function Recipe({ fluid, mix }) {
  const u = fluid.unit;
  const added = mix.water + mix.concentrate;
  return html`<div class="recipe">
    ${mix.drain > 0 && html`<p>First take out <b class="num">${figure(mix.drain)}</b> ${u}: it cannot be brought to the target by adding${mix.undrained === null ? "" : `, filling up alone gives ${figure(mix.undrained, 1)} %`}.</p>`}
    ${added > 0 ? html`<p><b class="num big-figure">${figure(mix.concentrate)}</b> ${u} concentrate into <b class="num big-figure">${figure(mix.water)}</b> ${u} water</p>
      ${mix.makeup !== null && html`<p class="soft">That is ${figure(added)} ${u} at ${figure(mix.makeup, 1)} %. Then: ${figure(mix.volume)} ${u} at ${figure(mix.strength, 1)} %.</p>`}` : html`<p>Nothing to add.</p>`}
  </div>`;
}

/** @param {import("./shared.js").LogProps} props */
export default function Coolant({ query }) {
  const which = useMachine(query, (machine) => mixedIn(machine).length > 0);
  const { machine } = which;
  const { problem, kept, keep } = useKeeping();
  if (!which.machines.length) return html`<${NothingToLog} title="Coolant top-up" missing="No machine has a coolant yet." />`;
  if (kept) return html`<${KeptPage} title="Coolant top-up" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/machine/${machine?.id}`, text: machine?.name ?? "Machine" }} />`;
  return html`<${Page} title="Coolant top-up" back="#/log"><div class="stack"><${MachineField} ...${which} /></div>
    ${machine && html`<${TopUpForm} key=${machine.id} machine=${machine} asked=${query.get("fluid")} keep=${keep} problem=${problem} />`}<//>`;
}

/** @param {{ machine: Definition, asked: string | null, problem: string | null, keep: (entries: any[], said: string) => Promise<boolean> }} props */
function TopUpForm({ machine, asked, problem, keep }) {
  const fluids = mixedIn(machine);
  const form = useForm({ fluid: fluids.find(({ id }) => id === asked)?.id ?? fluids[0].id });
  const fluid = fluids.find(({ id }) => id === form.values.fluid);
  return html`${fluids.length > 1 && html`<${SelectField} label="Fluid" options=${fluids.map(({ id, name }) => ({ value: id, text: name }))} ...${form.field("fluid")} />`}
    <${Sump} key=${fluid.id} machine=${machine} fluid=${fluid} keep=${keep} problem=${problem} />`;
}

/** What is logged: the strength as read, what was poured in. @param {Definition} machine @param {any} fluid @param {number} percent @param {{ water: number, concentrate: number }} poured @param {string} note */
function entries(machine, fluid, percent, poured, note) {
  const { water, concentrate } = poured;
  const amount = Math.round((water + concentrate) * 1e6) / 1e6;
  const reading = { kind: "reading.taken", machine: machine.id, body: { quantity: quantityOf(fluid), value: percent, unit: "%", instrument: "refractometer" } };
  if (amount <= 0) return [reading];
  return [reading, { kind: "fluid.added", machine: machine.id, body: { fluid: fluid.id, amount, unit: fluid.unit, water, concentrate, ...(note ? { note } : {}) } }];
}

/** @param {{ machine: Definition, fluid: any, problem: string | null, keep: (entries: any[], said: string) => Promise<boolean> }} props */
function Sump({ machine, fluid, problem, keep }) {
  const last = docOf(world.value, machine).readings[quantityOf(fluid)]?.[0];
  const form = useForm({ level: "", reading: "", target: String(fluid.band?.target ?? ""), fill: String(fluid.capacity), water: "", concentrate: "", note: "" });
  useBegun(form, { name: fluid.id });
  const { mix, percent, errors } = work(fluid, form.values);
  const judged = percent !== null && fluid.band ? judgeReading(fluid.band, percent) : null;
  const factor = fluid.factor ?? 1;
  const water = readNumber(form.values.water, { name: "Water", min: 0, max: 100_000, optional: true });
  const concentrate = readNumber(form.values.concentrate, { name: "Concentrate", min: 0, max: 100_000, optional: true });
  const poured = mix && { water: water.value ?? mix.water, concentrate: concentrate.value ?? mix.concentrate };
  const send = () => {
    const own = { concentrate: concentrate.error, water: water.error };
    if (!mix || !poured || own.concentrate || own.water) return form.setErrors({ ...errors, ...own });
    return keep(entries(machine, fluid, percent, poured, form.values.note.trim()),
      `${fluid.name}: ${figure(percent, 1)} % read, ${figure(poured.water + poured.concentrate)} ${fluid.unit} added. Run ten minutes and read it again.`);
  };
  return html`<${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
      <${NumberField} label="What is in the sump now" unit=${fluid.unit} hint=${`It holds ${figure(fluid.capacity)} ${fluid.unit}.`} ...${form.field("level")} />
      <${NumberField} label="Refractometer" unit="Brix" hint=${`${factor === 1 ? "Its figure is the strength in %." : `Times ${figure(factor)} gives the strength in %.`}${last ? ` Last ${figure(last.value)} ${last.unit ?? ""}.` : ""}`} ...${form.field("reading")} />
      ${fluid.band && html`<${BandStrip} band=${fluid.band} value=${percent} unit="%" word=${judged?.word ?? ""} />`}
      ${percent !== null && html`<p role="status"><b class="num">${figure(percent, 1)} %</b>${judged ? `, ${judged.word}` : ""}</p>`}
      <div class="pair"><${NumberField} label="Target" unit="%" ...${form.field("target")} /><${NumberField} label="Fill up to" unit=${fluid.unit} ...${form.field("fill")} /></div>
      <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
    </div><div class="side"><${Cautions} keys=${["concentrate", "coolant_skin"]} />
      ${mix && html`<${Recipe} fluid=${fluid} mix=${mix} /><${WillDo} lines=${[`logs the strength: ${figure(percent, 1)} %`, poured && poured.water + poured.concentrate > 0 && `logs ${figure(poured.concentrate)} ${fluid.unit} concentrate and ${figure(poured.water)} ${fluid.unit} water as added`]} />
        <details class="why"><summary>I poured in something else</summary><div class="pair"><${NumberField} label="Concentrate" unit=${fluid.unit} optional ...${form.field("concentrate")} />
          <${NumberField} label="Water" unit=${fluid.unit} optional ...${form.field("water")} /></div></details>`}
      <${Button} big>Keep what I poured in<//></div></div><//>`;
}
