// The due rule as people write it: one form for each way a task falls due, and several of them together.
import { html } from "htm/preact";
import { METERS } from "../../core/due.js";
import { Button, ChoiceField, DateField, NumberField, SelectField, TextField } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { quantities } from "./check-fields.js";
import { PickOrWrite, plainName } from "./pick.js";
import { DAY_NAMES, MONTH_NAMES, sayQuantity, unitsOf } from "./rule-words.js";
import { WEEKDAYS } from "./rule-dates.js";
import { newValues } from "./rule-values.js";
import { ruleKey } from "./task-values.js";

/** @typedef {import("./rule-values.js").RuleValues} RuleValues */
/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ values: RuleValues, machine: Definition | null, at: (field: keyof RuleValues) => any, set: (some: Partial<RuleValues>) => void }} Part */

/** @param {[string, string][]} pairs */
const options = (pairs) => pairs.map(([value, text]) => ({ value, text }));

const KINDS = options([
  ["every", "So long after it was last done"], ["dates", "On fixed dates"], ["meter", "By a meter: hours, cuts, area"], ["each", "Before the first use of each day"],
  ["after", "So long after a change or a tag"], ["when", "While a reading is beyond a limit"],
]);
const SPANS = options([["days", "days"], ["weeks", "weeks"], ["months", "months"], ["years", "years"]]);
const PATTERNS = options([["weekly", "On weekdays"], ["nth", "On a weekday of the month"], ["monthday", "On a day of the month"], ["yearly", "Once a year"], ["daily", "Every so many days"], ["own", "Written out (RFC 5545)"]]);
const NTHS = options([["1", "First"], ["2", "Second"], ["3", "Third"], ["4", "Fourth"], ["-1", "Last"]]);
const DAYS = WEEKDAYS.map((value, index) => ({ value, text: DAY_NAMES[index] }));
const MONTHS = MONTH_NAMES.map((text, index) => ({ value: String(index + 1), text }));

/** @param {Part} part */
function Every({ at }) {
  return html`<div class="pair"><${NumberField} label="Every" whole ...${at("count")} /><${SelectField} label="Of" options=${SPANS} ...${at("unit")} /></div>`;
}

/** @param {Part} part */
function Weekdays({ values, at }) {
  const { error, onValue } = at("days");
  const turn = (/** @type {string} */ day, /** @type {boolean} */ on) => onValue(on ? [...values.days, day] : values.days.filter((one) => one !== day));
  return html`<fieldset class=${`field${error ? " field-bad" : ""}`}><legend>Weekdays</legend><div class="choice-tiles">${DAYS.map(({ value, text }) => html`<label key=${value} class=${`tile${values.days.includes(value) ? " tile-on" : ""}`}>
    <input type="checkbox" checked=${values.days.includes(value)} onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => turn(value, e.currentTarget.checked)} /><span>${text.slice(0, 3)}<span class="away">${text.slice(3)}</span></span></label>`)}</div>
    ${error && html`<p class="field-error" role="alert">${error}</p>`}</fieldset>`;
}

/** @param {Part} part */
function Dates(part) {
  const { values, at } = part;
  const span = /** @type {Record<string, string>} */ ({ weekly: "weeks", nth: "months", monthday: "months", yearly: "years", daily: "days" })[values.pattern];
  return html`<${SelectField} label="Which dates" options=${PATTERNS} ...${at("pattern")} />
    ${values.pattern === "weekly" && html`<${Weekdays} ...${part} />`}
    ${values.pattern === "nth" && html`<div class="pair"><${SelectField} label="Which" options=${NTHS} ...${at("nth")} /><${SelectField} label="Weekday" options=${DAYS} ...${at("weekday")} /></div>`}
    ${values.pattern === "monthday" && html`<${NumberField} label="Day of the month" whole hint="Months that lack it are left out." ...${at("monthday")} />`}
    ${values.pattern === "yearly" && html`<div class="pair"><${NumberField} label="Day" whole ...${at("monthday")} /><${SelectField} label="Month" options=${MONTHS} ...${at("month")} /></div>`}
    ${values.pattern === "own" ? html`<${TextField} label="Rule" hint="Such as FREQ=MONTHLY;BYDAY=1MO (RFC 5545)." ...${at("own")} />` : html`<${NumberField} label="Every" unit=${span} whole ...${at("interval")} />`}
    <${DateField} label="From" hint="The dates are counted from this day." ...${at("anchor")} />`;
}

/** The machine's meters, and the one that is chosen already. @param {Definition | null} machine @param {string} chosen */
function meterOptions(machine, chosen) {
  const kinds = (machine?.meters ?? []).map((/** @type {{ kind: string }} */ { kind }) => kind);
  return [...new Set([...kinds, ...(chosen ? [chosen] : [])])].map((kind) => ({ value: kind, text: METERS[kind]?.[0] ?? kind }));
}

/** @param {Definition | null} machine @param {string} kind */
const unitOf = (machine, kind) => (machine?.meters ?? []).find((/** @type {any} */ one) => one.kind === kind)?.unit ?? METERS[kind]?.[1] ?? "";

/** @param {Part} part */
function Meter({ values, machine, at }) {
  const known = meterOptions(machine, values.meter);
  if (!known.length) return html`<p class="field-hint">There is no meter here to count by. Give the machine one first, or choose another way.</p>`;
  return html`<${SelectField} label="Meter" blank="Choose" options=${known} ...${at("meter")} /><${NumberField} label="Every" unit=${unitOf(machine, values.meter)} ...${at("amount")} />`;
}

/** What a rule can come after: changes of what the machine has, of one alone where there are several of a kind, and a tag taken off. @param {Definition | null} machine @param {string} chosen */
function eventOptions(machine, chosen) {
  const all = [...(machine?.parts ?? []), ...(machine?.fluids ?? [])];
  const of = (/** @type {any[]} */ list, /** @type {string} */ event) => list.flatMap(({ id, kind }) => [`${event}/${kind}`, ...(list.filter((one) => one.kind === kind).length > 1 ? [`${event}/${kind}/${id}`] : [])]);
  const called = (/** @type {string} */ value) => {
    const [, kind = "", only] = value.split("/");
    if (only) return all.find(({ id }) => id === only)?.name ?? `${plainName(kind)} that is gone`;
    return all.filter((one) => one.kind === kind).length > 1 ? `${plainName(kind)}, any of them,` : plainName(kind);
  };
  const found = [...of(machine?.parts ?? [], "part.changed"), ...of(machine?.fluids ?? [], "fluid.changed"), "tag.off", ...(chosen ? [chosen] : [])];
  return [...new Set(found)].map((value) => ({ value, text: value === "tag.off" ? "A tag is taken off" : `The ${called(value)} is changed` }));
}

/** @param {Part} part */
function After({ values, machine, at }) {
  return html`<${SelectField} label="After" blank="Choose" options=${eventOptions(machine, values.event)} ...${at("event")} />
    <${ChoiceField} label="Counted" options=${options([["meter", "on a meter"], ["days", "in days"]])} ...${at("by")} />
    ${values.by === "days" ? html`<${NumberField} label="Days after" unit="days" whole hint="0 is at once." ...${at("wait")} />`
    : html`<${SelectField} label="Meter" blank="Choose" options=${meterOptions(machine, values.meter)} ...${at("meter")} />
      <${TextField} label=${`Amounts after it${values.meter ? `, in ${unitOf(machine, values.meter)}` : ""}`} hint="One, or several that rise: 50, 200." ...${at("at")} />`}`;
}

/** @param {Part} part */
function When({ values, machine, at }) {
  const unit = unitsOf(machine, definitions.value.checklists)[values.reading];
  return html`<${PickOrWrite} label="Reading" other="Another reading…" options=${quantities().map((value) => ({ value, text: sayQuantity(value) }))} ...${at("reading")} />
    <p class="field-hint">One limit or both, in the unit of the reading${unit ? ` (${unit})` : ""}.</p>
    <div class="pair"><${NumberField} label="Below" ...${at("below")} /><${NumberField} label="Above" ...${at("above")} /></div>`;
}

/** @type {Record<string, (part: Part) => any>} */
const FORMS = { every: Every, dates: Dates, meter: Meter, each: () => null, after: After, when: When };

/**
 * Every part of a task's rule.
 * @param {{ form: import("./members.js").FormState, machine: Definition | null, today: string }} props
 */
export function RuleFields({ form, machine, today }) {
  /** @type {RuleValues[]} */
  const rules = form.values.rules;
  const put = (/** @type {RuleValues[]} */ next) => form.set({ rules: next });
  const part = (/** @type {RuleValues} */ values, /** @type {number} */ index) => {
    const set = (/** @type {Partial<RuleValues>} */ some) => {
      put(rules.map((one, other) => (other === index ? { ...one, ...some } : one)));
      form.setErrors((/** @type {any} */ before) => ({ ...before, rule: null, ...Object.fromEntries(Object.keys(some).map((field) => [ruleKey(index, field), null])) }));
    };
    const at = (/** @type {keyof RuleValues} */ field) => ({ value: values[field], error: form.errors[ruleKey(index, field)] ?? null, onValue: (/** @type {any} */ value) => set({ [field]: value }) });
    return html`<div key=${index} class="rule-part">${index > 0 && html`<p class="rule-or">or, if that comes first</p>`}
      <${SelectField} label=${index === 0 ? "It falls due" : "Or it falls due"} options=${KINDS} ...${at("kind")} />
      <${FORMS[values.kind]} key=${values.kind} values=${values} machine=${machine} at=${at} set=${set} />
      ${rules.length > 1 && html`<div class="row"><${Button} plain onPress=${() => put(rules.filter((_, other) => other !== index))}>Take this one out<//></div>`}</div>`;
  };
  return html`<div class="rule">${rules.map(part)}
    ${form.errors.rule && html`<p class="field-error" role="alert">${form.errors.rule}</p>`}
    <div class="row"><${Button} line onPress=${() => put([...rules, newValues(today)])}>Add another: the first to come counts<//></div></div>`;
}
