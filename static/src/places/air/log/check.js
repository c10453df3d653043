// A check of the exhaust: velocity, static pressure, filter drop or flow, beside its commissioning figure.
import { html } from "htm/preact";
import { ChoiceField, NumberField, SelectField, StateMark, TextField, TickField, capital, figure, readNumber } from "../../../kit/index.js";
import { definitions } from "../../../store/index.js";
import { docOf } from "../../standing.js";
import { world } from "../../world.js";
import { QUANTITIES, gaugeOf } from "../gauges.js";
import { AirForm, MachineField, filled, needed, refuse, useAirForm } from "./frame.js";

/** Units of each check, the one of US shops first. @type {Record<string, string[]>} */
const UNITS = {
  "face velocity": ["ft/min", "m/s"], "capture velocity": ["ft/min", "m/s"], "duct velocity": ["ft/min", "m/s"],
  "static pressure": ["in H2O", "Pa"], "filter drop": ["in H2O", "Pa"], flow: ["cfm", "m3/h", "m3/s", "L/s"],
};
const HOW = /** @type {Record<string, string>} */ ({
  "face velocity": "Vane meter or hot wire over a grid on the opening; the mean of the points.", "capture velocity": "At the point where the dust is made, the hood where it is used.",
  "duct velocity": "Mean of a traverse in straight duct.", "static pressure": "At the marked hole, clean filter, doors shut.",
  "filter drop": "Gauge across the filter, exhaust running, pulse or shake just done.", flow: "From velocity and the opening's area.",
});

/** The unit that the shop usually reads a check in. @param {string} check */
const usualUnit = (check) => UNITS[check]?.[definitions.value.shop?.units === "metric" ? 1 : 0] ?? "";

/** What the typed value is beside what went before. @param {Record<string, any>} values @param {number | null} value */
function beside(values, value) {
  const machine = definitions.value.byId.get(values.machine);
  if (!machine?.meters || !values.check || value === null) return null;
  const doc = docOf(world.value, machine);
  const quantity = `${QUANTITIES[values.check]}${values.place.trim() ? `/${values.place.trim()}` : ""}`;
  const now = { at: world.value.now.toISOString(), value, unit: values.unit };
  const then = values.commissioning ? now : doc.commissioned?.[quantity];
  return gaugeOf(quantity, [now, ...(doc.readings[quantity] ?? [])], undefined, then, null);
}

/** @param {import("./frame.js").LogProps} props */
export default function AirCheckForm({ query }) {
  const { form, problem, kept, keep } = useAirForm({ machine: query.get("machine") ?? "", check: "", value: "", unit: "", place: "", instrument: "", commissioning: false, note: "" });
  const { values } = form;
  const { value, error } = readNumber(values.value, { name: "The reading", min: -1e6, max: 1e6 });
  const gauge = beside(values, value);
  const send = () => {
    const errors = { machine: needed(values.machine, "machine", "Choose the one whose exhaust was measured."), check: needed(values.check, "what was measured", "Choose one."), value: error };
    if (refuse(form, errors)) return;
    const body = { check: values.check, value, unit: values.unit, ...filled({ place: values.place, instrument: values.instrument, commissioning: values.commissioning, note: values.note }) };
    return keep([{ kind: "air.checked", machine: values.machine, body }], `${capital(values.check)} ${figure(value, 3)} ${values.unit}.${gauge?.say ? ` ${gauge.say}` : ""}`);
  };
  return html`<${AirForm} title="Check of the air" button="Keep the check" kept=${kept} problem=${problem} onSend=${send} also=${{ href: "#/air/trends", text: "Trends" }}
    side=${gauge && html`<div class="sum-answer"><div role="status"><${StateMark} mark=${gauge.mark} word=${gauge.word} size=${26} />${gauge.say && html`<p>${gauge.say}</p>`}
      ${gauge.static && html`<p class="soft">20 % either way: 29 CFR 1910.94(a)(4), commonly cited, confirm.</p>`}</div></div>`}>
    <${MachineField} form=${form} />
    <${ChoiceField} label="What was measured" options=${Object.keys(UNITS).map((one) => ({ value: one, text: capital(one) }))} ...${form.field("check")}
      onValue=${(/** @type {string} */ check) => form.set({ check, unit: usualUnit(check) })} />
    ${values.check && html`<p class="soft">${HOW[values.check]}</p><div class="pair"><${NumberField} label="Reading" unit=${values.unit.replace("H2O", "H₂O").replace("m3", "m³")} ...${form.field("value")} />
      <${SelectField} label="Unit" options=${UNITS[values.check].map((unit) => ({ value: unit, text: unit.replace("H2O", "H₂O").replace("m3", "m³") }))} ...${form.field("unit")} /></div>`}
    <${TextField} label="Which hood or tap" hint="A name makes it a line of its own" optional maxLength=${60} ...${form.field("place")} />
    <${TextField} label="Instrument" optional maxLength=${60} ...${form.field("instrument")} />
    <${TickField} label="This is the commissioning figure" hint="The exhaust is as it should be; later readings are held against it" ...${form.tick("commissioning")} />
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} /><//>`;
}
