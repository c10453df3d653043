// The drawer: counted, or something ordered for it.
import { html } from "htm/preact";
import { Button, ChoiceField, DateField, Empty, Form, NumberField, Page, SelectField, TextField, figure, readNumber, sayDay, sayWhen, useForm } from "../../kit/index.js";
import { definitions, state } from "../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { orderedOf, sayPieces, timeToOrder } from "../orders.js";
import { inUse } from "../standing.js";
import { calendar, world } from "../world.js";

const WHAT = [{ value: "counted", text: "Counted" }, { value: "ordered", text: "Ordered" }];

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ item: string, what: string, count: string, arrived: string, expected: string, note: string }} Values */

/** The figures as read, those that this way of keeping asks for. @param {Values} values @param {boolean} ordering @param {number} coming */
function figuresOf(values, ordering, coming) {
  const count = ordering ? readNumber(values.count, { name: "How many", above: 0, max: 1e6 }) : readNumber(values.count, { name: "The count", min: 0, max: 1e6 });
  const arrived = readNumber(ordering || coming === 0 ? "" : values.arrived, { name: "How many came", min: 0, max: 1e6, optional: true });
  const more = arrived.value !== null && count.value !== null && arrived.value > count.value;
  return { count, arrived: more ? { value: null, error: "More came than the drawer holds. Count what has come too." } : arrived };
}

/** What the entry does. @param {Definition} item @param {boolean} ordering @param {number} count @param {number} arrived */
function consequences(item, ordering, count, arrived) {
  const { shop } = state.value;
  const drawer = shop.stock[item.id];
  const coming = orderedOf(shop, item.id)?.count ?? 0;
  if (ordering) return [`${sayPieces(coming + count, item.unit)} on order: Today stops saying to order`, "stays so until a count here says that they have come"];
  const off = drawer ? count - arrived - drawer.count : 0;
  const left = Math.max(coming - arrived, 0);
  return [
    off !== 0 ? `the record was off by ${figure(Math.abs(off))}: there are ${off > 0 ? "more" : "fewer"} than it says` : "the drawer counts as seen today",
    coming > 0 && (left > 0 ? `${sayPieces(left, item.unit)} stay on order` : "nothing is on order any more"),
    timeToOrder({ ...shop, orders: left > 0 ? { [item.id]: [{ count: left }] } : {} }, item, count) && `time to order: the reorder point is ${figure(item.reorder_at)}`,
  ];
}

/** What the record says of the drawer. @param {Definition} item */
function knownOf(item) {
  const drawer = state.value.shop.stock[item.id];
  const clock = { zone: calendar.value.zone, now: world.value.now };
  return drawer ? `By the record ${sayPieces(drawer.count, item.unit)}${drawer.at ? `, counted ${sayWhen(drawer.at, clock)}` : ""}.` : "Not counted before.";
}

/** @param {import("../orders.js").Order} ordered @param {Definition} item */
const sayComing = (ordered, item) => `${sayPieces(ordered.count, item.unit)} on order${ordered.expected ? `, expected ${sayDay(ordered.expected, calendar.value.today)}` : ""}.`;

/** @param {import("./shared.js").LogProps} props */
export default function Stock({ query }) {
  const items = inUse(definitions.value.items);
  const form = useForm({ item: query.get("item") ?? "", what: query.get("what") === "ordered" ? "ordered" : "counted", count: "", arrived: "", expected: "", note: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title="Drawer" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: "#/log", text: "Log" }} />`;
  if (!items.length) return html`<${Page} title="Drawer" back="#/log"><${Empty}>Nothing is kept in the drawer yet. <a href="#/setup">Add it in Set-up</a>.<//><//>`;
  const { values } = form;
  const item = items.find(({ id }) => id === values.item) ?? null;
  const ordering = values.what === "ordered";
  const ordered = item && orderedOf(state.value.shop, item.id);
  const { count, arrived } = figuresOf(values, ordering, ordered?.count ?? 0);
  const send = () => {
    const errors = { item: item ? null : `Nothing is chosen. Choose what was ${values.what}.`, count: count.error, arrived: arrived.error };
    if (!item || Object.values(errors).some(Boolean)) return form.setErrors(errors);
    const note = values.note.trim();
    const body = ordering ? { ...(values.expected ? { expected: values.expected } : {}), ...(note ? { note } : {}) } : arrived.value ? { arrived: arrived.value } : {};
    return keep([{ kind: `stock.${values.what}`, machine: null, body: { item: item.id, count: count.value, ...body } }],
      `${item.name}: ${sayPieces(count.value ?? 0, item.unit)} ${ordering ? "ordered" : "in the drawer"}.`);
  };
  return html`<${Page} title="Drawer" back="#/log"><${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
    <${SelectField} label="What" blank="Choose the item" options=${items.map(({ id, name, machine }) => ({ value: id, text: machine ? `${name} (${definitions.value.byId.get(machine)?.name})` : name }))} ...${form.field("item")} />
    <${ChoiceField} label="What was done" options=${WHAT} ...${form.field("what")} />
    ${item && ordering && ordered && html`<p class="soft">${sayComing(ordered, item)}</p>`}
    <${NumberField} label=${ordering ? "How many were ordered" : "How many are there"} unit=${item?.unit} hint=${item ? knownOf(item) : ""} ...${form.field("count")} />
    ${item && !ordering && ordered && html`<${NumberField} label="Of these just came" unit=${item.unit} optional hint=${sayComing(ordered, item)} ...${form.field("arrived")} />`}
    ${ordering && html`<${DateField} label="Expected on" optional ...${form.field("expected")} /><${TextField} label="Note" hint="Supplier, order number" lines=${2} optional ...${form.field("note")} />`}
    </div><div class="side">${item && count.value !== null && html`<${WillDo} lines=${consequences(item, ordering, count.value, arrived.value ?? 0)} />`}
    <${Button} big>${ordering ? "Keep the order" : "Keep the count"}<//></div></div><//><//>`;
}
