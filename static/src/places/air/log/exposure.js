// A measurement of dust or of noise: whose or where, the samples one by one, and what they come to beside the limits.
import { html } from "htm/preact";
import { Button, ChoiceField, DateField, NumberField, SelectField, TextField, TickField, capital } from "../../../kit/index.js";
import { cards } from "../../../store/index.js";
import { calendar } from "../../world.js";
import { formsOf } from "../limits.js";
import { NoCards, authorities, offered } from "../shared.js";
import { alloyOptions, processOptions } from "../work.js";
import { AirForm, MachineField, PersonField, filled, refuse, useAirForm } from "./frame.js";
import { Preview } from "./preview.js";
import { BLANK_SAMPLE, FRACTIONS, NOISE, readExposure } from "./samples.js";

const UNITS = [{ value: "mg/m3", text: "mg/m³" }, { value: "ug/m3", text: "µg/m³" }];

/** @param {{ form: any, at: number, unit: string, error: string | null }} props */
function Sample({ form, at, unit, error }) {
  const sample = form.values.samples[at];
  const set = (/** @type {any} */ some) => form.set({ samples: form.values.samples.map((/** @type {any} */ one, /** @type {number} */ n) => (n === at ? { ...one, ...some } : one)) });
  const noise = form.values.agent === NOISE;
  return html`<fieldset class="conditions sample"><legend>Sample ${at + 1}</legend><div class="pair">
      <${NumberField} label=${noise ? "Level" : sample.below ? "Reporting limit" : "Found"} unit=${unit} value=${sample.value} onValue=${(/** @type {string} */ value) => set({ value })} />
      <${NumberField} label="Over" unit="min" value=${sample.minutes} onValue=${(/** @type {string} */ minutes) => set({ minutes })} /></div>
    ${!noise && html`<${TickField} label="Below detection" hint="Then give the laboratory's reporting limit" on=${sample.below} onValue=${(/** @type {boolean} */ below) => set({ below })} />`}
    ${error && html`<p class="field-error" role="alert">${error}</p>`}
    ${form.values.samples.length > 1 && html`<button type="button" class="plain" onClick=${() => form.set({ samples: form.values.samples.filter((/** @type {any} */ _, /** @type {number} */ n) => n !== at) })}>Take sample ${at + 1} out</button>`}</fieldset>`;
}

/** @param {{ form: any }} props */
function Agent({ form }) {
  const library = cards.value;
  const agents = Object.entries(library.substances).map(([value, one]) => ({ value, text: /** @type {any} */ (one).name })).sort((a, b) => (a.text < b.text ? -1 : 1));
  const { agent } = form.values;
  const forms = agent && agent !== NOISE ? formsOf(library, agent) : [];
  const choose = (/** @type {string} */ value) => form.set({ agent: value, form: value === NOISE ? "" : formsOf(library, value)[0] ?? "" });
  return html`<${SelectField} label="What was measured" blank="Choose" options=${[{ value: NOISE, text: "Noise" }, ...agents]} ...${form.field("agent")} onValue=${choose} />
    ${forms.length > 1 && html`<${ChoiceField} label="As" options=${forms.map((value) => ({ value, text: capital(value), note: library.substances[agent].forms[value] }))} ...${form.field("form")} />`}
    ${agent && agent !== NOISE && html`<${SelectField} label="Sampled fraction" options=${FRACTIONS} ...${form.field("fraction")} />`}`;
}

/** @param {import("./frame.js").LogProps} props */
export default function ExposureForm({ query }) {
  const asked = query.get("agent") ?? "";
  const start = { agent: asked, form: asked && asked !== NOISE && cards.value ? formsOf(cards.value, asked)[0] ?? "" : "", fraction: "total", person: "", place: "", machine: query.get("machine") ?? "",
    samples: [BLANK_SAMPLE], unit: "mg/m3", shift_hours: "8", on: calendar.value.today, process: "", alloy: "", method: "", laboratory: "", note: "" };
  const { form, problem, kept, keep } = useAirForm(start);
  const { values } = form;
  const { body, errors } = readExposure(values);
  const send = () => {
    if (refuse(form, errors) || !body) return;
    const extra = filled({ method: values.method, laboratory: values.laboratory, process: values.process, alloy: values.alloy, note: values.note, on: values.on });
    return keep([{ kind: "exposure.measured", machine: values.machine || null, body: { ...body, ...extra } }], "The measurement is kept. Its bars stand under Exposures.");
  };
  const unit = values.agent === NOISE ? "dBA" : UNITS.find((one) => one.value === values.unit)?.text ?? "";
  return html`<${AirForm} title="Log a measurement" button="Keep the measurement" kept=${kept} problem=${problem} onSend=${send} also=${{ href: "#/air/exposures", text: "Exposures" }}
    side=${cards.value && html`<${Preview} body=${body} cards=${cards.value} authorities=${authorities()} today=${calendar.value.today} />`}>
    ${!cards.value ? html`<${NoCards} />` : html`<${Agent} form=${form} />
    <${PersonField} form=${form} label="Worn by" blank="Nobody: it stood at a place" optional />
    ${!values.person && html`<${TextField} label="Place" hint="Where the sampler or the meter stood" maxLength=${120} ...${form.field("place")} />`}
    ${values.agent !== NOISE && html`<${ChoiceField} label="Unit" options=${UNITS} ...${form.field("unit")} />`}
    ${values.samples.map((/** @type {any} */ _, /** @type {number} */ at) => html`<${Sample} key=${at} form=${form} at=${at} unit=${unit} error=${form.errors[`sample ${at}`] ?? null} />`)}
    <div class="row"><${Button} line onPress=${() => form.set({ samples: [...values.samples, BLANK_SAMPLE] })}>Another sample<//></div>
    <${NumberField} label="Hours of the shift" unit="h" hint="All of it, sampled or not" ...${form.field("shift_hours")} />
    <${DateField} label="Sampled on" max=${calendar.value.today} ...${form.field("on")} />
    <details class="more"><summary><b>Work, method, laboratory</b><span class="soft">if you like</span></summary><div class="stack">
      <${MachineField} form=${form} blank="No machine" optional /><${SelectField} label="Work" blank="Not said" optional options=${processOptions(cards.value, null)} ...${form.field("process")} />
      <${SelectField} label="Alloy" blank="Not said" optional options=${alloyOptions(cards.value, offered())} ...${form.field("alloy")} />
      <${TextField} label="Method" optional maxLength=${120} ...${form.field("method")} /><${TextField} label="Laboratory" optional maxLength=${120} ...${form.field("laboratory")} />
      <${TextField} label="Note" lines=${2} optional ...${form.field("note")} /></div></details>`}<//>`;
}
