// Chips or dust of one alloy, weighed on their way to scrap or waste; and what the year came to.
import { html } from "htm/preact";
import { ChoiceField, Facts, NumberField, SelectField, TextField, TickField, figure, readNumber } from "../../../kit/index.js";
import { cards, definitions, state } from "../../../store/index.js";
import { offered, sayAt } from "../shared.js";
import { alloyName, alloyOptions } from "../work.js";
import { AirForm, filled, needed, refuse, useAirForm } from "./frame.js";

const GOES = [{ value: "scrap", text: "Scrap" }, { value: "waste", text: "Waste" }];

/** Kilograms as the shop weighs. @param {number} kilograms */
const weighed = (kilograms) => (definitions.value.shop?.units === "metric" ? `${figure(kilograms, 1)} kg` : `${figure(kilograms / 0.45359237, 1)} lb`);

/** What was collected of each alloy so far. */
export function ChipTotals() {
  const rows = Object.entries(state.value.shop.chips ?? {});
  if (!rows.length) return null;
  return html`<${Facts} rows=${rows.map(([alloy, one]) => [alloyName(cards.value, alloy), html`${weighed(one.scrap)} scrap, ${weighed(one.waste)} waste${one.dust ? `, ${weighed(one.dust)} of it dust` : ""} <span class="soft">last: ${sayAt(one.at)}</span>`])} />`;
}

/** @param {import("./frame.js").LogProps} props */
export default function ChipsForm({ query }) {
  const metric = definitions.value.shop?.units === "metric";
  const { form, problem, kept, keep } = useAirForm({ alloy: query.get("alloy") ?? "", weight: "", unit: metric ? "kg" : "lb", container: "", to: "scrap", dust: false, note: "" });
  const { values } = form;
  const weight = readNumber(values.weight, { name: "Weight", above: 0, max: 1e6 });
  const scrap = cards.value?.behaviours[`scrap.${cards.value?.alloys[values.alloy]?.scrap}`];
  const send = () => {
    if (refuse(form, { alloy: needed(values.alloy, "alloy", "Choose whose chips they are: they are kept apart by alloy."), weight: weight.error, container: needed(values.container, "container", "Name the drum or bag, as its label does.") })) return;
    return keep([{ kind: "chips.collected", body: { ...filled({ ...values, weight: "" }), weight: weight.value } }], `${alloyName(cards.value, values.alloy)}: ${figure(weight.value)} ${values.unit} to ${values.to}.`);
  };
  return html`<${AirForm} title="Chips and dust" button="Keep the weight" kept=${kept} problem=${problem} onSend=${send} side=${html`<${ChipTotals} />`}>
    ${cards.value ? html`<${SelectField} label="Alloy" blank="Choose the alloy" options=${alloyOptions(cards.value, offered())} ...${form.field("alloy")} />` : html`<${TextField} label="Alloy" maxLength=${40} ...${form.field("alloy")} />`}
    ${scrap && html`<p><b>Kept apart as:</b> ${scrap.text}</p>`}
    <div class="pair"><${NumberField} label="Weight" unit=${values.unit} ...${form.field("weight")} /><${SelectField} label="Unit" options=${[{ value: "lb", text: "lb" }, { value: "kg", text: "kg" }]} ...${form.field("unit")} /></div>
    <${TextField} label="Container" hint="As its label says" maxLength=${80} ...${form.field("container")} />
    <${ChoiceField} label="Goes to" options=${GOES} ...${form.field("to")} />
    <${TickField} label="It is dust, not chips" ...${form.tick("dust")} />
    <${TextField} label="Note" lines=${2} optional ...${form.field("note")} /><//>`;
}
