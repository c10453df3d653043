// A batch was run: loads and minutes become spindle hours, cuts and a section become cut area.
import { html } from "htm/preact";
import { Button, Form, Notice, NumberField, Page, SelectField, TextField, capital, figure, readNumber, useForm } from "../../kit/index.js";
import { SHAPES, area, cutArea, spindleHours } from "../../core/sections.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { docOf } from "../standing.js";
import { world } from "../world.js";
import { WorkOfBatch, alloySaid, hazardOf, useWorkOfBatch, workBlank } from "../air/batch.js";
import { CutterFields, cuttersOf, readCutters, remembered } from "./cutters.js";
import { MachineField, NothingToLog, faultOf, useMachine } from "./shared.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ id: string, kind: string, name: string, unit: string }} Meter */
/** @typedef {Record<string, string>} Typed */
/** @typedef {{ adds: Record<string, number>, figures: Record<string, number>, errors: Record<string, string | null> }} Worked */

const SHAPE_WORDS = /** @type {Record<string, string>} */ ({ round: "Round bar", square: "Square bar", plate: "Plate or flat", tube: "Tube", hex: "Hexagon", rectangle: "Rectangle", box: "Box section" });
const MEASURE_WORDS = /** @type {Record<string, string>} */ ({ diameter: "Diameter", side: "Side", width: "Width of the cut", thickness: "Thickness", outside: "Outside diameter", height: "Height", wall: "Wall", flats: "Across flats" });

/** The unit of length whose square an area meter counts in. @param {string} unit */
const lengthOf = (unit) => ({ "sq in": "in", in2: "in", "in²": "in", cm2: "cm", "cm²": "cm", mm2: "mm", "mm²": "mm" })[unit] ?? "";

/** @param {Meter[]} meters @param {string} kind */
const meterOf = (meters, kind) => meters.find((meter) => meter.kind === kind);

/** A typed figure, noting its error. @param {Typed} typed @param {string} field @param {import("../../kit/numbers.js").NumberRule} rule @param {Worked} worked */
function take(typed, field, rule, worked) {
  const { value, error } = readNumber(typed[field] ?? "", rule);
  worked.errors[field] = error;
  return value;
}

/** Loads times minutes. @param {Meter} meter @param {Typed} typed @param {Worked} worked */
function workLoads(meter, typed, worked) {
  const loads = take(typed, "loads", { name: "Loads", min: 0, max: 100_000, whole: true }, worked);
  const minutes = take(typed, "minutes", { name: "Minutes a load", min: 0, max: 10_000 }, worked);
  if (loads === null || minutes === null) return;
  Object.assign(worked.figures, { loads, minutes_per_load: minutes });
  const hours = spindleHours(loads, minutes);
  worked.adds[meter.id] = meter.unit === "min" ? loads * minutes : hours;
}

/** Cuts times the section. @param {Meter[]} meters @param {Typed} typed @param {Worked} worked */
function workCuts(meters, typed, worked) {
  const cuts = take(typed, "cuts", { name: "Cuts", min: 0, max: 1_000_000, whole: true }, worked);
  const counter = meterOf(meters, "cuts");
  const square = meterOf(meters, "cut_area");
  if (cuts !== null) worked.figures.cuts = cuts;
  if (cuts !== null && counter) worked.adds[counter.id] = cuts;
  if (!square) return;
  const names = SHAPES[typed.shape ?? "round"] ?? [];
  const measures = names.map((name) => [name, take(typed, name, { name: MEASURE_WORDS[name] ?? name, above: 0, max: 100_000 }, worked)]);
  if (cuts === null || measures.some(([, value]) => value === null)) return;
  try {
    const section = area(typed.shape ?? "round", Object.fromEntries(measures));
    worked.figures.area_per_cut = section;
    worked.adds[square.id] = cutArea(cuts, section);
  } catch (error) {
    const fault = faultOf(error, MEASURE_WORDS);
    worked.errors[fault.field] = fault.text;
  }
}

const COUNTED = new Set(["spindle_hours", "cuts", "cut_area"]);

/** Loads of a set of cutters that no spindle counts: their minutes are the cutting hours, where nobody typed others. @param {Meter[]} meters @param {Typed} typed @param {number} minutes of all cutters in a load @param {Worked} worked */
function workCutting(meters, typed, minutes, worked) {
  const loads = take(typed, "loads", { name: "Loads", min: 0, max: 100_000, whole: true, optional: true }, worked);
  if (loads === null) return;
  worked.figures.loads = loads;
  const hours = meterOf(meters, "run_hours");
  if (hours?.unit === "h" && loads > 0 && minutes > 0 && !(typed[hours.id] ?? "").trim()) worked.adds[hours.id] = spindleHours(loads, minutes);
}

/** What the typed figures add to which meter. @param {Meter[]} meters @param {Typed} typed @param {{ count: number, sum: number }} cutting @returns {Worked} */
function work(meters, typed, cutting) {
  /** @type {Worked} */
  const worked = { adds: {}, figures: {}, errors: {} };
  const spindle = meterOf(meters, "spindle_hours");
  if (spindle) workLoads(spindle, typed, worked);
  else if (cutting.count) workCutting(meters, typed, cutting.sum, worked);
  if (meters.some(({ kind }) => kind === "cuts" || kind === "cut_area")) workCuts(meters, typed, worked);
  for (const meter of meters.filter(({ kind }) => !COUNTED.has(kind))) {
    const amount = take(typed, meter.id, { name: meter.name, above: 0, max: 1e6, optional: true }, worked);
    if (amount !== null) worked.adds[meter.id] = amount;
  }
  return worked;
}

/** @param {import("./shared.js").LogProps} props */
export default function Batch({ query }) {
  const which = useMachine(query, (machine) => machine.meters.length > 0);
  const { machine } = which;
  const { problem, kept, keep } = useKeeping();
  if (!which.machines.length) return html`<${NothingToLog} title="Batch run" missing="No machine has meters yet." />`;
  if (kept) return html`<${KeptPage} title="Batch run" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: `#/machine/${machine?.id}`, text: machine?.name ?? "Machine" }} />`;
  return html`<${Page} title="Batch run" back="#/log"><div class="stack"><${MachineField} ...${which} /></div>
    ${machine && html`<${BatchForm} key=${machine.id} machine=${machine} query=${query} keep=${keep} problem=${problem} />`}<//>`;
}

/** @param {{ meters: Meter[], form: any, cutting: boolean }} props `cutting`: it has cutters whose loads count */
function Figures({ meters, form, cutting: loads }) {
  const { values } = form;
  const square = meterOf(meters, "cut_area");
  const cutting = square ?? meterOf(meters, "cuts");
  return html`${meterOf(meters, "spindle_hours") && html`<div class="pair"><${NumberField} label="Loads" whole ...${form.field("loads")} />
      <${NumberField} label="Minutes a load" unit="min" ...${form.field("minutes")} /></div>`}
    ${loads && !meterOf(meters, "spindle_hours") && html`<${NumberField} label="Loads" whole optional ...${form.field("loads")} />`}
    ${cutting && html`<${NumberField} label="Cuts" whole ...${form.field("cuts")} />`}
    ${square && html`<${SelectField} label="Section" options=${Object.keys(SHAPES).map((value) => ({ value, text: SHAPE_WORDS[value] ?? capital(value) }))} ...${form.field("shape")} />
      <div class="pair">${(SHAPES[values.shape] ?? []).map((name) => html`<${NumberField} key=${name} label=${MEASURE_WORDS[name]} unit=${lengthOf(square.unit)} ...${form.field(name)} />`)}</div>`}
    ${meters.filter(({ kind }) => !COUNTED.has(kind)).map((meter) => html`<${NumberField} key=${meter.id} label=${meter.name} unit=${meter.unit} optional ...${form.field(meter.id)} />`)}`;
}

/** What a batch adds to its cutters, and whether they can have cut for so long. @param {import("./cutters.js").Part[]} cutters @param {{ minutes: Record<string, number>, sum: number }} cut @param {Record<string, number>} figures */
function cutLines(cutters, { minutes, sum }, { loads = 0, minutes_per_load: whole }) {
  const most = cutters.filter(({ id }) => minutes[id]).map(({ id, name }) => `${name} +${figure((minutes[id] ?? 0) * loads, 1)} min`);
  const over = whole !== undefined && sum > whole;
  return [`Cutters: ${most.join(", ")}`, ...(over ? [`Their minutes add up to ${figure(sum, 1)} a load, more than its ${figure(whole)}: check them`] : [])];
}

/** @param {{ machine: Definition, query: URLSearchParams, problem: string | null, keep: (entries: any[], said: string) => Promise<boolean> }} props */
function BatchForm({ machine, query, problem, keep }) {
  const meters = /** @type {Meter[]} */ (machine.meters);
  const doc = docOf(world.value, machine);
  const blank = Object.fromEntries(["loads", "minutes", "cuts", "what", "note", ...Object.values(SHAPES).flat(), ...meters.map(({ id }) => id)].map((name) => [name, ""]));
  const cutters = cuttersOf(machine);
  const form = useForm(/** @type {Typed} */ ({ ...blank, shape: "round", ...remembered(machine), ...workBlank(machine, query) }));
  useBegun(form, { name: machine.id });
  const typed = form.values;
  const asked = useWorkOfBatch(machine, typed);
  const cut = readCutters(cutters, typed);
  const { adds, figures, errors } = work(meters, typed, { count: cutters.length, sum: cut.sum });
  const counts = (figures.loads ?? 0) > 0 && cut.sum > 0;
  const lines = meters.filter(({ id }) => (adds[id] ?? 0) > 0).map((meter) => {
    const total = doc.meters[meter.id]?.total ?? 0;
    return `${meter.name}: +${figure(adds[meter.id])} ${meter.unit}, from ${figure(total)} to ${figure(total + (adds[meter.id] ?? 0))}`;
  });
  const moved = lines.length > 0;
  if (counts) lines.push(...cutLines(cutters, cut, figures));
  if (asked.stopped && typed.anyway) lines.push("A hazard: it was run although a stop stood");
  const send = () => {
    const faults = { ...errors, ...cut.errors, anyway: asked.error };
    if (Object.values(faults).some(Boolean)) return form.setErrors(faults);
    if (!moved) return form.setErrors({ none: "Nothing is counted. Fill in at least one figure above nought." });
    const words = Object.fromEntries(["what", "note"].flatMap((name) => (typed[name]?.trim() ? [[name, typed[name].trim()]] : [])));
    const body = { adds, ...words, ...alloySaid(typed), ...figures, ...(counts ? { cutters: cut.minutes } : {}) };
    return keep([{ kind: "batch.run", machine: machine.id, body }, ...hazardOf(machine, typed, asked)], `${machine.name}. ${lines.join(". ")}.`);
  };
  return html`<${Form} onSend=${send} problem=${problem ?? form.errors.none}><div class="form-grid"><div class="form">
      <${WorkOfBatch} machine=${machine} form=${form} work=${asked} />
      <${TextField} label="What was made" optional maxLength=${200} ...${form.field("what")} />
      <${Figures} meters=${meters} form=${form} cutting=${cutters.length > 0} />
      <${CutterFields} cutters=${cutters} form=${form} sum=${cut.sum} />
      <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
    </div><div class="side">${lines.length ? html`<${WillDo} lines=${lines} />` : html`<${Notice}>Fill in the figures: what they add to the meters stands here.<//>`}
      <${Button} big>Keep the batch<//></div></div><//>`;
}
