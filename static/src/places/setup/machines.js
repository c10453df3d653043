// Machines: the list by bay, and one machine with all that is defined in it and for it.
import { html } from "htm/preact";
import { ButtonLink, Empty, Section, SelectField, TextField, counted, useForm, where } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { inUse } from "../standing.js";
import { isCabinet } from "../air/cabinet.js";
import { CabinetFields } from "./cabinet-fields.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { OutOfUse, Row, Rows } from "./listing.js";
import { Feed, Fluids, Meters, Parts } from "./machine-members.js";
import { machineValues, readMachine } from "./machine-values.js";
import { memberFields } from "./member-keys.js";
import { CautionTicks } from "./pick.js";
import { sayRule, unitsOf } from "./rule-words.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const FAMILIES = [["mill", "Mill, lathe, drill"], ["saw", "Saw"], ["sander", "Sander, grinder"], ["cabinet", "Blast cabinet"], ["compressor", "Compressor, air"], ["other", "Something else"]]
  .map(([value, text]) => ({ value, text }));

/** @type {Record<string, [string, string]>} */
const PLAIN = {
  name: ["name", "The machine's name"], bay: ["bay", "The bay"], maker: ["maker", "Maker"], model: ["model", "Model"], serial: ["serial", "Serial number"], notes: ["notes", "Notes"],
  "feed.url": ["feed_url", "The address"], "feed.data_item": ["feed_item", "The data item"], "feed.meter": ["feed_meter", "The meter"],
  "cabinet.volume.value": ["cabinet_volume", "Cabinet volume"], "cabinet.exhaust.value": ["cabinet_flow", "Exhaust flow"], "cabinet.mixing": ["cabinet_mixing", "Mixing factor"], "cabinet.posted": ["cabinet_posted", "Time posted"],
};
/** @type {Record<string, [string, string]>} */
const LIMITS = { "band.stop_low": ["stop_low", "Stop below"], "band.act_low": ["act_low", "Act below"], "band.target": ["target", "Target"], "band.act_high": ["act_high", "Act above"], "band.stop_high": ["stop_high", "Stop above"] };

/** Where the server's faults belong. @param {any} values @returns {Record<string, [string, string]>} */
const faultFields = (values) => ({
  ...PLAIN,
  ...memberFields("meters", values.meters, { kind: ["kind", "What it counts"], name: ["name", "The meter's name"], unit: ["unit", "The unit"] }),
  ...memberFields("parts", values.parts, { kind: ["kind", "The kind"], name: ["name", "The part's name"], meter: ["meter", "The meter"], item: ["item", "The spare"], grade: ["grade", "The grade"],
    planned_cost: ["planned", "A planned change"], unplanned_cost: ["unplanned", "A failure at work"] }),
  ...memberFields("fluids", values.fluids, { kind: ["kind", "The kind"], name: ["name", "The fluid's name"], capacity: ["capacity", "The capacity"], unit: ["unit", "The unit"], factor: ["factor", "The factor"],
    "sump.table": ["sump_table", "The dip table"], sump: ["sump_length", "The sump"], target: ["aim", "The strength to mix to"], jug: ["jug", "The jug's mark"], hardness: ["water", "The water's hardness"], grade: ["grade", "The grade"], ...LIMITS }),
});

/** Fields that are left out when they are empty. */
const EMPTIED = ["maker", "model", "serial", "notes", "feed", "cabinet"];

/** What is defined for a machine elsewhere. @param {{ base: Definition }} props */
function Belongs({ base }) {
  const { checklists, tasks, items } = definitions.value;
  const of = (/** @type {Definition[]} */ list) => inUse(list).filter((one) => one.machine === base.id);
  const part = (/** @type {string} */ title, /** @type {string} */ on, /** @type {Definition[]} */ list, /** @type {string} */ add, /** @type {(one: Definition) => string} */ note) => html`<${Section} title=${title}>
    ${list.length ? html`<${Rows}>${list.map((one) => html`<${Row} key=${one.id} href=${`#/setup/${on}/${one.id}`} name=${one.name} note=${note(one)} />`)}<//>` : html`<${Empty}>None yet.<//>`}
    <div class="row"><${ButtonLink} line href=${`#/setup/${on}/new?machine=${base.id}`}>${add}<//></div><//>`;
  return html`${part("Checklists", "checklists", of(checklists), "Add a checklist", (one) => counted(one.checks.length, "check"))}
    ${part("Tasks", "tasks", of(tasks), "Add a task", (one) => sayRule(one.rule, unitsOf(base, definitions.value.checklists)))}
    ${part("Drawer", "items", of(items), "Add an item", (one) => `order at ${one.reorder_at}`)}`;
}

/** What the way here brought along: a bay, or a cabinet's figures that a phone kept for itself. @param {URLSearchParams} query */
function begunWith(query) {
  const figures = ["volume", "flow", "mixing", "posted"].flatMap((name) => (query.get(name) ? [[name, String(query.get(name))]] : []));
  return { bay: query.get("bay") ?? "", us: definitions.value.shop?.units !== "metric", cabinet: Object.fromEntries(figures) };
}

/** @param {import("./editor.js").Opened} props */
function Machine({ base, draft }) {
  const start = machineValues(base, begunWith(where.peek().query));
  const form = useForm(draft.values ?? start);
  const bays = definitions.value.bays.filter((bay) => !bay.retired || bay.id === form.values.bay).map(({ id, name }) => ({ value: id, text: String(name) }));
  const check = () => {
    const { errors, body } = readMachine(form.values);
    // What the form does not show stays as it is; what it shows and was emptied goes.
    const rest = Object.entries(base ? bodyOf(base) : {}).filter(([key]) => !EMPTIED.includes(key));
    return { errors, body: { ...Object.fromEntries(rest), ...body } };
  };
  return html`<${Editor} type="machine" on="machines" noun="machine" goesOn base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${faultFields(form.values)}
    leaving="It leaves Today and the shop, and its rounds and tasks with it." side=${base && html`<${Belongs} base=${base} />`}>
    <${TextField} label="Name" hint="As the people call it." maxLength=${80} ...${form.field("name")} />
    <${SelectField} label="Bay" optional blank="No bay" options=${bays} ...${form.field("bay")} />
    <${SelectField} label="Drawn as" options=${FAMILIES.some(({ value }) => value === form.values.family) ? FAMILIES : [...FAMILIES, { value: form.values.family, text: form.values.family }]} ...${form.field("family")} />
    <${Meters} form=${form} base=${base} /><${Parts} form=${form} base=${base} /><${Fluids} form=${form} base=${base} />
    ${(form.values.family === "cabinet" || isCabinet({ starter: base?.starter, cautions: form.values.cautions })) && html`<${CabinetFields} form=${form} />`}
    <${Feed} form=${form} />
    <${Section} title="Plate and notes"><${TextField} label="Maker" optional maxLength=${80} ...${form.field("maker")} />
      <${TextField} label="Model" optional maxLength=${80} ...${form.field("model")} /><${TextField} label="Serial number" optional maxLength=${80} ...${form.field("serial")} />
      <${TextField} label="Notes" optional lines=${4} ...${form.field("notes")} /><//>
    <${CautionTicks} hint="They stand on the machine's page." ...${form.field("cautions")} /><//>`;
}

/** @param {{ machine: Definition }} props */
function MachineRow({ machine }) {
  const { tasks, checklists } = definitions.value;
  const of = (/** @type {Definition[]} */ list) => inUse(list).filter((one) => one.machine === machine.id).length;
  return html`<${Row} href=${`#/setup/machines/${machine.id}`} name=${machine.name} side=${`${counted(of(checklists), "checklist")}, ${counted(of(tasks), "task")}`} />`;
}

/** @param {{ parts: string[] }} props */
export function Machines({ parts: [id] }) {
  const { machines, bays } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${machines} on="machines" noun="machine" form=${Machine} />`;
  const used = inUse(machines);
  const places = inUse(bays);
  const groups = [...places.map((bay) => ({ key: bay.id, title: String(bay.name), of: used.filter((one) => one.bay === bay.id) })),
    { key: "", title: places.length ? "No bay" : "", of: used.filter((one) => !places.some((bay) => bay.id === one.bay)) }].filter(({ of }) => of.length);
  return html`<${SetupPage} title="Machines" on="machines"><div class="row"><${ButtonLink} href="#/setup/stand">Add from the starter library<//><${ButtonLink} line href="#/setup/machines/new">Add one by hand<//></div>
    ${groups.length ? groups.map(({ key, title, of }) => html`<${Section} key=${key} title=${title}><${Rows}>${of.map((one) => html`<${MachineRow} key=${one.id} machine=${one} />`)}<//><//>`)
    : html`<${Empty}>No machine yet. The starter library brings each with its checklists, tasks and spares.<//>`}
    <${OutOfUse} list=${machines} on="machines" /><//>`;
}
