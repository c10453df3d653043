// A hazard noted: what work, what was seen, which controls were in use, who was exposed, and the risk where it is estimated.
import { html } from "htm/preact";
import { NumberField, PhotoField, SelectField, TextField, TickField, capital, readNumber } from "../../../kit/index.js";
import { cards, definitions } from "../../../store/index.js";
import { photoOf } from "../../keeping.js";
import { inUse } from "../../standing.js";
import { calendar } from "../../world.js";
import { NoCards, offered } from "../shared.js";
import { alloyOptions, demandsOf, mediumOptions, processOptions, usualWork } from "../work.js";
import { AirForm, MachineField, filled, needed, refuse, useAirForm } from "./frame.js";
import { RISK_BLANK, riskOf } from "./risk-of.js";
import { RiskFields } from "./risk.js";

/** What may be seen, as the record has it. @type {[string, string][]} */
const SEEN = [["visible dust", "Visible dust"], ["haze", "Haze in the air"], ["spill", "A spill"], ["taste", "A taste in the mouth"], ["skin", "On the skin"], ["other", "Something else"]];

/** @param {{ label: string, options: [string, string][], chosen: string[], onChosen: (chosen: string[]) => void, error?: string | null }} props */
function Ticks({ label, options, chosen, onChosen, error }) {
  return html`<fieldset class="conditions"><legend>${label}</legend>${options.map(([value, text]) => html`<${TickField} key=${value} label=${text} on=${chosen.includes(value)}
    onValue=${(/** @type {boolean} */ on) => onChosen([...chosen.filter((one) => one !== value), ...(on ? [value] : [])])} />`)}
    ${error && html`<p class="field-error" role="alert">${error}</p>`}</fieldset>`;
}

/** The controls that the rules name for this work, in the order of the hierarchy, to tick those in use. @param {{ form: any }} props */
function ControlsInUse({ form }) {
  const { process, alloy, medium, controls } = form.values;
  const asked = demandsOf(cards.value, { process, alloy: alloy || "unknown", medium })?.controls ?? {};
  const options = Object.values(asked).flat().map((text) => /** @type {[string, string]} */ ([text, text]));
  return html`<details class="more"><summary><b>Controls in use</b><span class="soft">${controls.length ? `${controls.length} named` : "which of them, if any"}</span></summary>
    <div class="stack">${options.length > 0 && html`<${Ticks} label="In use when it was seen" options=${options} chosen=${controls} onChosen=${(/** @type {string[]} */ list) => form.set({ controls: list })} />`}
    <${TextField} label="Another control in use" optional maxLength=${120} ...${form.field("control")} /></div></details>`;
}

/** @param {{ query: URLSearchParams }} query */
function startOf({ query }) {
  const machine = definitions.value.byId.get(query.get("machine") ?? "");
  return { machine: machine?.id ?? "", process: query.get("process") ?? usualWork(machine ?? null)[0] ?? "", alloy: query.get("alloy") ?? "", medium: "", minutes: "",
    seen: /** @type {string[]} */ ([]), text: "", controls: /** @type {string[]} */ ([]), control: "", exposed: /** @type {string[]} */ ([]), near_miss: false, first_aid: false,
    photo: /** @type {Blob | null} */ (null), ...RISK_BLANK };
}

/** @param {Record<string, any>} values */
function errorsOf(values) {
  const minutes = readNumber(values.minutes, { name: "Minutes", min: 0, max: 1440, optional: true });
  const said = values.seen.length > 0 && !values.seen.includes("other");
  return { process: needed(values.process, "work", "Choose what was being done."), minutes: minutes.error,
    text: said ? null : needed(values.text, "what was seen", "Tick something above, or write it in a few words.") };
}

/** @param {import("./frame.js").LogProps} props */
export default function HazardForm({ query }) {
  const { form, problem, kept, keep } = useAirForm(startOf({ query }));
  const { values } = form;
  const machine = definitions.value.byId.get(values.machine) ?? null;
  const { risk, errors: riskErrors, said } = riskOf(values, calendar.value.today);
  const send = async () => {
    if (refuse(form, { ...errorsOf(values), ...riskErrors })) return;
    const controls = [...values.controls, values.control.trim()].filter(Boolean);
    const lists = { controls, seen: values.seen, exposed: values.exposed };
    const body = { ...filled({ process: values.process, alloy: values.alloy === "unknown" ? "" : values.alloy, medium: values.process === "blast" ? values.medium : "", text: values.text,
      near_miss: values.near_miss, first_aid: values.first_aid }), ...Object.fromEntries(Object.entries(lists).filter(([, list]) => list.length)),
      ...(values.minutes.trim() ? { minutes: readNumber(values.minutes, { name: "Minutes" }).value } : {}), ...(risk ? { risk } : {}), ...(await photoOf(values.photo)) };
    return keep([{ kind: "hazard.noted", machine: values.machine || null, body }], capital(values.text.trim() || values.seen.join(", ")));
  };
  const people = inUse(definitions.value.people).map(({ id, name }) => /** @type {[string, string]} */ ([id, name]));
  return html`<${AirForm} title="Note a hazard" button="Keep the hazard" kept=${kept} problem=${problem} onSend=${send} also=${{ href: "#/air/hazards", text: "Hazards" }}
    will=${["it stands on the list of open hazards until somebody settles it", ...said]}>
    ${!cards.value && html`<${NoCards} />`}
    <${MachineField} form=${form} blank="No machine" optional />
    ${cards.value ? html`<${SelectField} label="Work" blank="Choose the work" options=${processOptions(cards.value, machine)} ...${form.field("process")} />
      <${SelectField} label="Alloy" blank="Not said" optional options=${alloyOptions(cards.value, offered(), { unknown: true })} ...${form.field("alloy")} />`
      : html`<${TextField} label="Work" maxLength=${40} ...${form.field("process")} /><${TextField} label="Alloy" optional maxLength=${40} ...${form.field("alloy")} />`}
    ${cards.value && values.process === "blast" && html`<${SelectField} label="Medium" blank="Not said" optional options=${mediumOptions(cards.value)} ...${form.field("medium")} />`}
    <${Ticks} label="What was seen" options=${SEEN} chosen=${values.seen} onChosen=${(/** @type {string[]} */ seen) => form.set({ seen })} />
    <${TextField} label="In a few words" lines=${3} optional=${values.seen.length > 0 && !values.seen.includes("other")} ...${form.field("text")} />
    <${NumberField} label="For how long" unit="min" optional ...${form.field("minutes")} />
    <${ControlsInUse} form=${form} />
    <details class="more"><summary><b>Who was exposed</b><span class="soft">${values.exposed.length ? `${values.exposed.length} named` : "if anybody"}</span></summary>
      <${Ticks} label="Exposed" options=${people} chosen=${values.exposed} onChosen=${(/** @type {string[]} */ exposed) => form.set({ exposed })} /></details>
    <${TickField} label="A near miss" hint="Nobody was hurt; it could have been otherwise" ...${form.tick("near_miss")} />
    <${TickField} label="First aid was given" ...${form.tick("first_aid")} />
    <${RiskFields} form=${form} />
    <${PhotoField} photo=${values.photo} onPhoto=${(/** @type {Blob | null} */ photo) => form.set({ photo })} /><//>`;
}
