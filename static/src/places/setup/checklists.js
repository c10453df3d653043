// Checklists: the checks of each round, in their order. A round records the revision that it ran.
import { html } from "htm/preact";
import { ButtonLink, Empty, Notice, Section, SelectField, TextField, counted, useForm, where } from "../../kit/index.js";
import { definitions, newId } from "../../store/index.js";
import { nameOf } from "../names.js";
import { inUse } from "../standing.js";
import { bodyOf } from "./clash.js";
import { CheckFields, checkLine } from "./check-fields.js";
import { checklistValues, newCheck, readChecklist } from "./check-values.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Grouped, machineOptions } from "./grouped.js";
import { Add, Row, Rows } from "./listing.js";
import { memberFields } from "./member-keys.js";
import { Members } from "./members.js";
import { sayRule, unitsOf } from "./rule-words.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const MOST = 9; // checks to one pause point

const FORMS = [["start-up", "Start-up, before first use"], ["weekly", "Weekly"], ["after-change", "After a change"], ["shut-down", "Shut-down"], ["periodic", "Now and then"]]
  .map(([value, text]) => ({ value, text }));
/** @type {Record<string, string>} */
const FORM_WORDS = { "start-up": "start-up", weekly: "weekly", "after-change": "after a change", "shut-down": "shut-down", periodic: "now and then" };

/** @type {Record<string, [string, string]>} */
const LABELS = {
  text: ["text", "What to check"], how: ["how", "How to look"], why: ["why", "Why it is there"], source: ["source", "Where it comes from"], quantity: ["quantity", "Kept as"],
  unit: ["unit", "The unit"], factor: ["factor", "The factor"], choices: ["choices", "The choices"], "band.stop_low": ["stop_low", "Stop below"], "band.act_low": ["act_low", "Act below"],
  "band.target": ["target", "Target"], "band.act_high": ["act_high", "Act above"], "band.stop_high": ["stop_high", "Stop above"],
};

/** What calls for the round. @param {{ base: Definition }} props */
function CalledBy({ base }) {
  const machine = definitions.value.byId.get(base.machine);
  const tasks = inUse(definitions.value.tasks).filter((task) => task.checklist === base.id);
  const alone = base.form === "start-up" ? "No task calls for it: it is asked for before the first use of each day." : "No task calls for it yet: it is walked only when somebody thinks of it.";
  return html`<${Section} title="Falls due by">${tasks.length ? html`<${Rows}>${tasks.map((task) => html`<${Row} key=${task.id} href=${`#/setup/tasks/${task.id}`} name=${task.name}
      note=${sayRule(task.rule, unitsOf(machine, definitions.value.checklists))} />`)}<//>` : html`<${Empty}>${alone}<//>`}
    ${!tasks.length && html`<div class="row"><${ButtonLink} line href=${`#/setup/tasks/new?machine=${base.machine}&checklist=${base.id}`}>Add a task for it<//></div>`}<//>`;
}

/** @param {import("./editor.js").Opened} props */
function Checklist({ base, draft }) {
  const start = checklistValues(base, where.peek().query.get("machine") ?? "");
  const form = useForm(draft.values ?? start);
  /** @type {import("./members.js").Member[]} */
  const checks = form.values.checks;
  const stops = checks.filter((one) => one.stop).length;
  const check = () => {
    const { errors, body } = readChecklist(form.values);
    return { errors, body: { ...(base ? bodyOf(base) : {}), ...body } };
  };
  const fields = { name: /** @type {[string, string]} */ (["name", "The name"]), machine: /** @type {[string, string]} */ (["machine", "The machine"]), checks: /** @type {[string, string]} */ (["checks", "The checks"]), ...memberFields("checks", checks, LABELS) };
  return html`<${Editor} type="checklist" on="checklists" noun="checklist" goesOn base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${fields}
    leaving="The round is no longer walked, and tasks that call for it lose their checks." side=${base && html`<${CalledBy} base=${base} />`}>
    ${base ? html`<p class="field-hint">At ${nameOf(base.machine)}. A checklist stays where it is; for another machine make another.</p>`
    : html`<${SelectField} label="Machine" blank="Choose" options=${machineOptions(form.values.machine)} ...${form.field("machine")} />`}
    <${TextField} label="Name" hint="Such as Saw start-up." maxLength=${80} ...${form.field("name")} />
    <${SelectField} label="Kind of round" options=${FORMS} ...${form.field("form")} />
    <${Members} title="Checks" aside=${stops ? `${counted(checks.length, "check")}, ${counted(stops, "stop check")}` : counted(checks.length, "check")} form=${form} name="checks" noun="check" numbered
      hint="Stop checks first, then once round the machine." none="None yet." make=${() => newCheck(newId())} line=${checkLine} fields=${(/** @type {any} */ inner) => html`<${CheckFields} inner=${inner} />`} />
    ${checks.length > MOST && html`<${Notice} title=${`${checks.length} checks is much for one round.`}>Five to nine at one pause are walked with attention; more are ticked without looking. Put the rest in a weekly round.<//>`}<//>`;
}

/** @param {{ parts: string[] }} props */
export function Checklists({ parts: [id] }) {
  const { checklists } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${checklists} on="checklists" noun="checklist" form=${Checklist} />`;
  return html`<${SetupPage} title="Checklists" on="checklists"><${Add} on="checklists" text="Add a checklist" /><${Grouped} list=${checklists} on="checklists" shop="Of machines out of use"
    none="None yet. Machines of the starter library bring theirs." side=${(/** @type {Definition} */ one) => `${FORM_WORDS[one.form] ?? one.form}, ${counted(one.checks.length, "check")}`} /><//>`;
}
