// The drawer: spares, and when to order them.
import { html } from "htm/preact";
import { NumberField, SelectField, TextField, figure, useForm, where } from "../../kit/index.js";
import { definitions, state } from "../../store/index.js";
import { orderedOf } from "../orders.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Grouped, machineOptions } from "./grouped.js";
import { itemValues, readItem } from "./item-values.js";
import { Add } from "./listing.js";
import { PickOrWrite, plainName } from "./pick.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @type {Record<string, [string, string]>} */
const FIELDS = {
  name: ["name", "The name"], kind: ["kind", "The kind"], unit: ["unit", "Counted in"], reorder_at: ["reorder", "Order at"], lead_days: ["lead", "Days to come"], cost: ["cost", "The price"], machine: ["machine", "The machine"],
};
/** Fields that are left out when they are empty. */
const EMPTIED = ["lead_days", "cost"];
const UNITS = ["piece", "pair", "set", "bag", "roll", "gal", "L"];
const KINDS = ["belt", "blade", "brush", "cutter", "filter", "fluid", "jaws", "media", "nozzle", "test", "wheel", "window"];

/** @param {string[]} usual @param {string[]} used */
const choices = (usual, used) => [...new Set([...usual, ...used])].sort().map((value) => ({ value, text: plainName(value) }));

/** @param {import("./editor.js").Opened} props */
function Item({ base, draft }) {
  const start = itemValues(base, where.peek().query.get("machine") ?? "");
  const form = useForm(draft.values ?? start);
  const { items } = definitions.value;
  const check = () => {
    const rest = Object.entries(base ? bodyOf(base) : {}).filter(([key]) => !EMPTIED.includes(key));
    const { errors, body } = readItem(form.values);
    return { errors, body: { ...Object.fromEntries(rest), ...body } };
  };
  return html`<${Editor} type="item" on="items" noun="item" base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${FIELDS}
    leaving="It is no longer asked for at a part change, and nothing says when to order it.">
    <${TextField} label="Name" hint="As you would order it, with its size." maxLength=${120} ...${form.field("name")} />
    <${PickOrWrite} label="Kind" other="Another kind…" maxLength=${30} options=${choices(KINDS, items.map((one) => String(one.kind)))} ...${form.field("kind")} />
    <${PickOrWrite} label="Counted in" other="Something else…" maxLength=${20} options=${choices(UNITS, items.map((one) => String(one.unit)))} ...${form.field("unit")} />
    <${NumberField} label="Order at" unit=${form.values.unit} hint="When so many are left, or fewer, Today says to order. With 0 it says so when the last is gone." ...${form.field("reorder")} />
    <${NumberField} label="Days to come" optional unit="days" hint="From the order to the delivery: with it the pace of use says when to order." ...${form.field("lead")} />
    <${NumberField} label="Price of one" optional hint="In the shop's money." ...${form.field("cost")} />
    <${SelectField} label="For" optional blank="No one machine" options=${machineOptions(form.values.machine)} ...${form.field("machine")} /><//>`;
}

/** @param {{ parts: string[] }} props */
export function Items({ parts: [id] }) {
  const { items } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${items} on="items" noun="item" form=${Item} />`;
  const side = (/** @type {Definition} */ item) => {
    const drawer = state.value.shop.stock[item.id];
    const ordered = orderedOf(state.value.shop, item.id);
    return `${drawer ? `${figure(drawer.count)} there` : "not counted"}${ordered ? `, ${figure(ordered.count)} on order` : ""}, order at ${figure(item.reorder_at)}`;
  };
  return html`<${SetupPage} title="Drawer" on="items"><${Add} on="items" text="Add an item" /><${Grouped} list=${items} on="items" none="Nothing in the drawer yet. Machines of the starter library bring their spares." shop="For no one machine" side=${side} /><//>`;
}
