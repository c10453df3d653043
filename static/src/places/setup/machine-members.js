// What a machine has: meters that count, parts that wear, fluids that are kept up.
import { html } from "htm/preact";
import { METERS } from "../../core/due.js";
import { NumberField, SelectField, TextField, figure, limitsSaid, readNumber } from "../../kit/index.js";
import { definitions, newId } from "../../store/index.js";
import { inUse } from "../standing.js";
import { readBand } from "./bands.js";
import { FluidCare } from "./fluid-care.js";
import { noCare } from "./fluid-values.js";
import { usualMeter } from "./machine-values.js";
import { Members } from "./members.js";
import { BandFields, PickOrWrite, plainName } from "./pick.js";

/** @typedef {import("./members.js").Inner} Inner */
/** @typedef {import("./members.js").FormState} FormState */
/** @typedef {import("../../store/types.js").Definition} Definition */

const PART_KINDS = ["belt", "blade", "brush", "cutter", "filter", "air_filter", "line_filter", "guides", "hose", "jaws", "liner", "media", "nozzle", "pads", "pins", "platen",
  "safety_valve", "seal", "stylus", "wheel", "window", "wipers"];
const FLUID_KINDS = ["coolant", "way_oil", "gear_oil", "hydraulic_oil", "compressor_oil", "cleaning_solution"];

/** @param {string[]} usual @param {any[]} used */
const kinds = (usual, used) => [...new Set([...usual, ...used.map(({ kind }) => String(kind))])].sort().map((value) => ({ value, text: plainName(value) }));

/** Everything of one sort in the shop. @param {"parts" | "fluids"} name */
const inShop = (name) => definitions.value.machines.flatMap((machine) => machine[name] ?? []);

/** Members that were saved already, for the question before one is taken out. @param {Definition | null} base @param {"meters" | "parts" | "fluids"} name @param {string} leaving */
const known = (base, name, leaving) => ({ ids: (base?.[name] ?? []).map((/** @type {{ id: string }} */ { id }) => id), leaving });

/** What a phone may still carry for it. */
const UNSENT = "What a phone has logged for it and not sent yet is refused then and waits in that phone's tray.";

/** @param {{ inner: Inner, base: Definition | null, units: string }} props */
function MeterFields({ inner, base, units }) {
  const { one, at, set } = inner;
  const old = base?.meters.some((/** @type {{ id: string }} */ other) => other.id === one.id);
  const options = Object.entries(METERS).map(([value, [name]]) => ({ value, text: name }));
  const pick = (/** @type {string} */ kind) => set(usualMeter(kind, units));
  return html`${old ? html`<p class="field-hint">It counts ${METERS[one.kind]?.[0] ?? one.kind}. What a meter counts stays; another count is another meter.</p>`
    : html`<${SelectField} label="What it counts" blank="Choose" options=${options} ...${at("kind")} onValue=${pick} />`}
    <${TextField} label="Name" maxLength=${80} ...${at("name")} />
    ${one.kind === "cut_area" && !old ? html`<${SelectField} label="Unit" options=${["sq in", "sq cm"].map((value) => ({ value, text: value }))} ...${at("unit")} />` : one.kind && html`<p class="field-hint">Counted in ${one.unit}.</p>`}`;
}

/** @param {{ form: FormState, base: Definition | null }} props */
export function Meters({ form, base }) {
  const units = String(definitions.value.shop?.units ?? "us");
  return html`<${Members} title="Meters" known=${known(base, "meters", `Its total leaves the machine, and rules by it no longer count. ${UNSENT}`)} form=${form} name="meters" noun="meter" hint="Counters that only go up. Rules by hours, cuts or area count by them."
    none="None. Without a meter only rules by date work here." make=${() => ({ id: newId(), kind: "", name: "", unit: "" })}
    line=${(/** @type {any} */ one) => ({ title: one.name, note: one.kind && `${METERS[one.kind]?.[0] ?? one.kind}, ${one.unit}` })}
    fields=${(/** @type {Inner} */ inner) => html`<${MeterFields} inner=${inner} base=${base} units=${units} />`} />`;
}

/** @param {{ form: FormState, base: Definition | null }} props */
export function Parts({ form, base }) {
  const items = inUse(definitions.value.items).map(({ id, name }) => ({ value: id, text: String(name) }));
  const meters = form.values.meters.filter((/** @type {any} */ one) => one.kind).map((/** @type {any} */ one) => ({ value: one.kind, text: one.name }));
  const line = (/** @type {any} */ one) => ({ title: one.name, note: one.kind && `${plainName(one.kind)}${one.meter ? `, lives by ${METERS[one.meter]?.[0] ?? one.meter}` : ""}` });
  const fields = (/** @type {Inner} */ { at }) => html`<${TextField} label="Name" maxLength=${80} ...${at("name")} />
    <${PickOrWrite} label="Kind" hint="Rules name it: 50 sq in after the blade is changed." other="Another kind…" maxLength=${30} options=${kinds(PART_KINDS, inShop("parts"))} ...${at("kind")} />
    <${SelectField} label="Its life is counted by" optional blank="The days alone" options=${meters} ...${at("meter")} />
    <${SelectField} label="Spare in the drawer" optional hint="A change takes one off the count." blank="None" options=${items} ...${at("item")} />
    <${TextField} label="Usual grade" optional hint="What is fitted as a rule: its grade, pitch or size." maxLength=${60} ...${at("grade")} />
    <div class="pair"><${NumberField} label="A planned change costs" optional ...${at("planned")} /><${NumberField} label="A failure at work costs" optional ...${at("unplanned")} /></div>
    <p class="field-hint">In the shop's money, with the time lost. With both, the wear of the part can say whether changing early pays.</p>`;
  return html`<${Members} title="Wearing parts" known=${known(base, "parts", `Its life so far leaves the machine; its changes stay in the record. ${UNSENT}`)} form=${form} name="parts" noun="part" hint="What is fitted, lives and is replaced." none="None yet."
    make=${() => ({ id: newId(), kind: "", name: "", meter: "", item: "", grade: "", planned: "", unplanned: "" })} line=${line} fields=${fields} />`;
}

/** A fluid that has a strength: not an oil, unless limits are given for it. @param {any} one */
const isMixed = (one) => !/oil/.test(one.kind) || readBand(one).band !== null || one.factor !== "";

/** @param {{ form: FormState, base: Definition | null }} props */
export function Fluids({ form, base }) {
  const unit = definitions.value.shop?.units === "metric" ? "L" : "gal";
  const line = (/** @type {any} */ one) => {
    const { band } = readBand(one);
    const strength = band ? limitsSaid(band, "%") : "";
    const { value } = readNumber(one.capacity, { name: "" });
    return { title: one.name, note: [value !== null && `${figure(value)} ${one.unit}`, strength].filter(Boolean).join("; ") };
  };
  const fields = (/** @type {Inner} */ inner) => html`<${TextField} label="Name" maxLength=${80} ...${inner.at("name")} />
    <${PickOrWrite} label="Kind" other="Another kind…" maxLength=${30} options=${kinds(FLUID_KINDS, inShop("fluids"))} ...${inner.at("kind")} />
    <div class="pair"><${NumberField} label="Capacity" ...${inner.at("capacity")} /><${SelectField} label="Unit" options=${[{ value: "gal", text: "gallons" }, { value: "L", text: "litres" }]} ...${inner.at("unit")} /></div>
    ${isMixed(inner.one) && html`<${BandFields} inner=${inner} unit="%" />
      <${NumberField} label="Refractometer factor" optional hint="Strength is Brix times this factor. It stands on the concentrate's label." ...${inner.at("factor")} />`}
    <${FluidCare} inner=${inner} />`;
  return html`<${Members} title="Fluids" known=${known(base, "fluids", `What was added to it stays in the record. ${UNSENT}`)} form=${form} name="fluids" noun="fluid" hint="With limits and a factor, the mix calculator knows what to add." none="None yet."
    make=${() => ({ id: newId(), kind: "", name: "", capacity: "", unit, factor: "", quantity: "", ...noCare(unit), stop_low: "", act_low: "", target: "", act_high: "", stop_high: "" })} line=${line} fields=${fields} />`;
}

/** The machine's own control as the counter of a meter. @param {{ form: FormState }} props */
export function Feed({ form }) {
  const feed = form.values.feed ?? { url: "", data_item: "", meter: "" };
  const meters = form.values.meters.filter((/** @type {any} */ one) => one.name).map((/** @type {any} */ one) => ({ value: one.id, text: one.name }));
  const at = (/** @type {string} */ name, /** @type {string} */ key) => ({
    value: feed[name], error: form.errors[key] ?? null,
    onValue: (/** @type {string} */ value) => { form.set({ feed: { ...feed, [name]: value } }); form.setErrors((/** @type {any} */ before) => ({ ...before, [key]: null })); },
  });
  return html`<details class="field cautions" open=${["feed_url", "feed_item", "feed_meter"].some((key) => form.errors[key])}><summary><b>Counted by the control</b><span class="soft">${feed.url || "no: people read the meters"}</span></summary>
    <fieldset class="member-body feed"><legend class="away">Counted by the control</legend><p class="field-hint">A control that speaks MTConnect can count one meter itself. Leave all three empty when it does not.</p>
      <${TextField} label="Address of the agent" placeholder="http://192.168.1.20:5000" maxLength=${300} ...${at("url", "feed_url")} />
      <${TextField} label="Data item" hint="The id or the name of the one that counts time." maxLength=${120} ...${at("data_item", "feed_item")} />
      <${SelectField} label="Meter it counts" blank="None" options=${meters} ...${at("meter", "feed_meter")} /></fieldset></details>`;
}
