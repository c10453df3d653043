// One check of a checklist: what is asked, how it is answered, what follows when it is not well, and why it is there.
import { html } from "htm/preact";
import { Button, ChoiceField, NumberField, TextField, TickField, limitsSaid } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { readBand } from "./bands.js";
import { OWN_SOURCE } from "./check-values.js";
import { BandFields, CautionChoice, PickOrWrite } from "./pick.js";
import { sayQuantity } from "./rule-words.js";

/** @typedef {import("./members.js").Inner} Inner */

const ANSWERS = [
  { value: "ok", text: "OK or not ok" },
  { value: "reading", text: "A reading", note: "a figure, judged by its limits" },
  { value: "choice", text: "A choice", note: "one of several answers" },
];

/** Every quantity that a check or a fluid of the shop is read by. */
export function quantities() {
  const { checklists, machines } = definitions.value;
  const read = [...checklists.flatMap((list) => list.checks), ...machines.flatMap((machine) => machine.fluids)];
  return [...new Set(read.map((one) => one.quantity).filter(Boolean))].sort();
}

/** How a check reads in the list. @param {any} one */
export function checkLine(one) {
  const { band } = readBand(one);
  const answer = one.answer === "reading" ? [`reading${one.unit ? ` in ${one.unit}` : ""}`, band ? limitsSaid(band, "") : ""] : [one.answer === "choice" ? "choice" : "ok or not ok"];
  return { title: one.text, note: [one.stop && "stop check", ...answer, one.photo && "photo"].filter(Boolean).join(" · ") };
}

/** @param {{ inner: Inner }} props */
function Choices({ inner: { one, at } }) {
  const { error, onValue } = at("choices");
  const change = (/** @type {number} */ index, /** @type {any} */ some) => onValue(one.choices.map((/** @type {any} */ choice, /** @type {number} */ other) => (other === index ? { ...choice, ...some } : choice)));
  return html`<fieldset class="field"><legend>Choices</legend><p class="field-hint">Tick those that are as they should be; any other opens a finding.</p>
    <ul class="choices">${one.choices.map((/** @type {any} */ choice, /** @type {number} */ index) => html`<li key=${index}><${TextField} label=${`Choice ${index + 1}`} value=${choice.text} maxLength=${80} onValue=${(/** @type {string} */ text) => change(index, { text })} />
      <div class="row"><label class=${`tile${choice.ok ? " tile-on" : ""}`}><input type="checkbox" checked=${choice.ok} onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => change(index, { ok: e.currentTarget.checked })} /><span>ok</span></label>
        <button type="button" class="plain" aria-label=${`Take out choice ${index + 1}`} onClick=${() => onValue(one.choices.filter((/** @type {any} */ _, /** @type {number} */ other) => other !== index))}>Take out</button></div></li>`)}</ul>
    ${error && html`<p class="field-error" role="alert" aria-invalid="true" tabindex="-1">${error}</p>`}
    <div class="row"><${Button} line onPress=${() => onValue([...one.choices, { text: "", ok: false }])}>Add a choice<//></div></fieldset>`;
}

/** @param {{ inner: Inner }} props */
function ReadingFields({ inner }) {
  const { one, at } = inner;
  return html`<${TextField} label="Unit" hint="Such as psi, %, mm, °F." maxLength=${20} ...${at("unit")} />
    <${BandFields} inner=${inner} unit=${one.unit} />
    <${PickOrWrite} label="Kept as" optional blank="Under this check alone" hint="Under one name readings of several checks run together, and rules can watch it, such as coolant.strength." other="Another name…"
      maxLength=${60} options=${quantities().map((value) => ({ value, text: sayQuantity(value) }))} ...${at("quantity")} />
    <${NumberField} label="Factor" optional hint="What is read on the instrument times this is kept, such as Brix to strength." ...${at("factor")} />`;
}

/** @param {{ inner: Inner }} props */
export function CheckFields({ inner }) {
  const { one, at, tick } = inner;
  return html`<${TextField} label="What to check" hint="Read at arm's length: short, begins with what to do." maxLength=${120} ...${at("text")} />
    <${ChoiceField} label="Answered by" options=${ANSWERS} ...${at("answer")} />
    ${one.answer === "reading" && html`<${ReadingFields} inner=${inner} />`}${one.answer === "choice" && html`<${Choices} inner=${inner} />`}
    <${TickField} label="Stop check" hint="When it is not ok, the machine must not start." ...${tick("stop")} />
    <${TickField} label="Ask for a photo" hint="The round goes on only with one." ...${tick("photo")} />
    <${TextField} label="How to look" optional lines=${2} maxLength=${500} ...${at("how")} />
    <${TextField} label="Why it is there" lines=${2} maxLength=${500} ...${at("why")} />
    <${TextField} label="Where it comes from" hint=${`A rule, a manual's page, or "${OWN_SOURCE}".`} maxLength=${300} ...${at("source")} />
    <${CautionChoice} ...${at("caution")} />`;
}
