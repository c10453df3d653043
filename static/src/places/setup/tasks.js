// Tasks: what is to be done, when it falls due, and how.
import { html } from "htm/preact";
import { DateField, NumberField, Section, SelectField, TextField, readNumber, useForm, where } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { inUse } from "../standing.js";
import { calendar } from "../world.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Grouped, machineOptions } from "./grouped.js";
import { Add } from "./listing.js";
import { CautionTicks } from "./pick.js";
import { RuleFields } from "./rule-fields.js";
import { RulePreview } from "./rule-preview.js";
import { toRule } from "./rule-values.js";
import { sayRule, unitsOf } from "./rule-words.js";
import { countedBy, readTask, SHOP, taskValues } from "./task-values.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @type {Record<string, [string, string]>} */
const FIELDS = {
  machine: ["machine", "The machine"], name: ["name", "The name"], rule: ["rule", "The rule"], checklist: ["checklist", "The checklist"], steps: ["steps", "The steps"], minutes: ["minutes", "Minutes"],
  cautions: ["cautions", "Cautions"], why: ["why", "Why it is done"], source: ["source", "Where it comes from"], start: ["start", "The date"], meter_start: ["start", "A meter's total"],
};

/** Where the meters stood when the count began, for rules by a meter that were never done. @param {{ form: any, machine: Definition | null }} props */
function MeterStarts({ form, machine }) {
  const { rules, meterStart } = form.values;
  return countedBy(rules, machine).map(({ id, name, unit }) => html`<${NumberField} key=${id} label=${`${name} it counts from`} optional unit=${unit}
    hint="Where the meter stood when it was last done, before anything was kept here. Empty counts from 0." value=${meterStart[id] ?? ""} error=${form.errors[`meterStart.${id}`]}
    onValue=${(/** @type {string} */ value) => { form.set({ meterStart: { ...meterStart, [id]: value } }); form.setErrors((/** @type {any} */ before) => ({ ...before, [`meterStart.${id}`]: null })); }} />`);
}

/** Totals as typed so far, for the reading back. @param {Record<string, string>} typed */
const totals = (typed) => Object.fromEntries(Object.entries(typed).flatMap(([id, text]) => {
  const { value } = readNumber(text, { name: "", optional: true });
  return value === null ? [] : [[id, value]];
}));

/** @param {{ form: any, base: Definition | null }} props */
function Where({ form, base }) {
  const { machine, checklist } = form.values;
  const lists = definitions.value.checklists.filter((one) => one.machine === machine && (!one.retired || one.id === checklist)).map(({ id, name }) => ({ value: id, text: String(name) }));
  const options = [{ value: SHOP, text: "The shop itself" }, ...machineOptions(machine)];
  return html`${base ? html`<p class="field-hint">At ${options.find(({ value }) => value === machine)?.text}. A task stays where it is; for another machine make another.</p>`
    : html`<${SelectField} label="At" blank="Choose" options=${options} ...${form.field("machine")} onValue=${(/** @type {string} */ value) => form.set({ machine: value, checklist: "", meterStart: {} })} />`}
    <${TextField} label="Name" hint="What is done: Change the way-oil filter." maxLength=${120} ...${form.field("name")} />
    ${lists.length > 0 && html`<${SelectField} label="Done by a round" optional hint="The task is then done by walking its checks." blank="No: it has steps" options=${lists} ...${form.field("checklist")} />`}`;
}

/** @param {import("./editor.js").Opened} props */
function Task({ base, draft }) {
  const { today } = calendar.value;
  const { query } = where.peek();
  const start = taskValues(base, today, { machine: query.get("machine") ?? "", checklist: query.get("checklist") ?? "" });
  const form = useForm(draft.values ?? start);
  const { values } = form;
  const machine = definitions.value.byId.get(values.machine) ?? null;
  const { rule } = toRule(values.rules);
  const counts = values.rules.some((/** @type {any} */ { kind }) => kind === "every" || kind === "dates" || kind === "meter");
  const check = () => {
    const { errors, body } = readTask(values, machine);
    return { errors, body: { ...(base ? bodyOf(base) : {}), ...body } };
  };
  const preview = html`<${RulePreview} rule=${rule} machine=${machine} base=${base} start=${values.start} checklist=${values.checklist} meterStart=${totals(values.meterStart)} />`;
  return html`<${Editor} type="task" on="tasks" noun="task" base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${FIELDS}
    leaving="It no longer falls due.">
    <${Where} form=${form} base=${base} />
    <${Section} title="When it falls due"><${RuleFields} form=${form} machine=${machine} today=${today} />
      ${counts && html`<${DateField} label="Counts from" hint="When it was last done, as far as anybody knows; else today." ...${form.field("start")} />`}
      <${MeterStarts} form=${form} machine=${machine} />${preview}<//>
    <${Section} title="What is done"><${TextField} label="Steps" optional lines=${6} hint="One step a line." ...${form.field("steps")} />
      <${NumberField} label="Takes about" unit="min" ...${form.field("minutes")} />
      <${TextField} label="Why it is done" lines=${2} maxLength=${500} ...${form.field("why")} />
      <${TextField} label="Where it comes from" hint="The maker's manual and page, a rule, or the shop's own." maxLength=${300} ...${form.field("source")} /><//>
    <${CautionTicks} hint="They stand where the task is begun." ...${form.field("cautions")} /><//>`;
}

/** @param {{ parts: string[] }} props */
export function Tasks({ parts: [id] }) {
  const { tasks, byId } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${tasks} on="tasks" noun="task" form=${Task} />`;
  const said = (/** @type {Definition} */ task) => sayRule(task.rule, unitsOf(byId.get(task.machine), definitions.value.checklists));
  return html`<${SetupPage} title="Tasks" on="tasks"><${Add} on="tasks" text="Add a task" /><${Grouped} list=${tasks} on="tasks" shop="The shop itself"
    none=${inUse(tasks).length ? "None here." : "None yet. Machines of the starter library bring theirs."} note=${said} /><//>`;
}
