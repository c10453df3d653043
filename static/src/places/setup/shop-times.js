// When the shop works, and when its reminders come.
import { html } from "htm/preact";
import { Button, ChoiceField, NumberField, Section, TextField } from "../../kit/index.js";
import { USUAL, WEEKDAYS } from "../../core/hours.js";
import { SHOP_FIGURES, SHOP_USUAL } from "../reminders/values.js";

/** @typedef {import("../reminders/values.js").ShiftValues} ShiftValues */

const NAMES = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
/** @type {Record<string, string>} */
const HINTS = {
  tag_days: "A machine that is out of service for so long.", phone_days: "What was logged on it may be missing from the record.",
  escalate_hours: "From when somebody was told of it.", paper_days: "Fit tests, sign-offs, training, certificates.",
};
const USUAL_SAID = `Monday to Friday, ${USUAL[0].begins} to ${USUAL[0].ends}`;

/** @param {{ shift: ShiftValues, n: number, only: boolean, onChange: (some: Partial<ShiftValues>) => void, onDrop: () => void }} props */
function Shift({ shift, n, only, onChange, onDrop }) {
  const put = (/** @type {string} */ day, /** @type {boolean} */ on) => onChange({ days: on ? [...shift.days, day] : shift.days.filter((one) => one !== day) });
  return html`<fieldset class="field shift"><legend>Shift ${n + 1}</legend>
    <div class="choice-tiles">${WEEKDAYS.map((day, index) => html`<label key=${day} class=${`tile${shift.days.includes(day) ? " tile-on" : ""}`}>
      <input type="checkbox" checked=${shift.days.includes(day)} onChange=${(/** @type {any} */ e) => put(day, e.currentTarget.checked)} /><span>${NAMES[index]}</span></label>`)}</div>
    <div class="pair"><${TextField} label="Begins" type="time" value=${shift.begins} onValue=${(/** @type {string} */ begins) => onChange({ begins })} />
      <${TextField} label="Ends" type="time" value=${shift.ends} onValue=${(/** @type {string} */ ends) => onChange({ ends })} /></div>
    ${shift.begins > shift.ends && html`<p class="field-hint">It goes past midnight.</p>`}
    ${!only && html`<div class="row"><${Button} plain onPress=${onDrop}>Take shift ${n + 1} out<//></div>`}</fieldset>`;
}

/** @param {{ form: any }} props */
export function Shifts({ form }) {
  const { usualShifts, shifts } = form.values;
  const put = (/** @type {ShiftValues[]} */ next) => form.set({ shifts: next });
  const add = () => put([...shifts, { key: crypto.randomUUID?.() ?? String(Math.random()), days: [], begins: "06:00", ends: "14:00" }]);
  return html`<${Section} title="Shifts"><p class="field-hint">Nobody is told anything outside of them, but who has quiet hours of their own.</p>
    <${ChoiceField} label="Hours of the shop" value=${usualShifts ? "usual" : "own"} onValue=${(/** @type {string} */ way) => form.set({ usualShifts: way === "usual", shifts })}
      options=${[{ value: "usual", text: "The usual", note: USUAL_SAID }, { value: "own", text: "Our own" }]} />
    ${!usualShifts && html`${shifts.map((/** @type {ShiftValues} */ shift, /** @type {number} */ n) => html`<${Shift} key=${shift.key} shift=${shift} n=${n} only=${shifts.length === 1}
        onChange=${(/** @type {Partial<ShiftValues>} */ some) => put(shifts.map((/** @type {ShiftValues} */ one) => (one.key === shift.key ? { ...one, ...some } : one)))}
        onDrop=${() => put(shifts.filter((/** @type {ShiftValues} */ one) => one.key !== shift.key))} />`)}
      <div class="row"><${Button} line off=${shifts.length >= 21} onPress=${add}>Add a shift<//></div>`}
    ${form.errors.shifts && html`<p class="field-error" role="alert">${form.errors.shifts}</p>`}<//>`;
}

/** @param {{ form: any }} props */
export function ShopReminders({ form }) {
  return html`<${Section} title="Reminders"><p class="field-hint">What is left empty is as usual. How each person is told is under <a href="#/setup/reminders">Reminders</a>.</p>
    <${TextField} label="The day's digest" type="time" optional hint="What is near and what moved, in one message. Usually when the first shift begins." ...${form.field("digest_at")} />
    <${TextField} label="Rounds begun by" type="time" optional hint=${`Who walks them is told when one is not. Usually ${SHOP_USUAL.round_by}.`} ...${form.field("round_by")} />
    ${SHOP_FIGURES.map(([name, label, unit]) => html`<${NumberField} key=${name} label=${label} unit=${unit} whole optional hint=${`${HINTS[name]} Usually ${SHOP_USUAL[name]} ${unit}.`} ...${form.field(name)} />`)}<//>`;
}
