// The drawer counted.
import { html } from "htm/preact";
import { Button, Empty, Form, NumberField, Page, SelectField, figure, readNumber, sayWhen, useForm } from "../../kit/index.js";
import { definitions, state } from "../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { inUse } from "../standing.js";
import { calendar, world } from "../world.js";

/** @param {import("./shared.js").LogProps} props */
export default function Stock({ query }) {
  const items = inUse(definitions.value.items);
  const form = useForm({ item: query.get("item") ?? "", count: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title="Drawer count" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: "#/log", text: "Log" }} />`;
  if (!items.length) return html`<${Page} title="Drawer count" back="#/log"><${Empty}>Nothing is kept in the drawer yet. <a href="#/setup">Add it in Set-up</a>.<//><//>`;
  const item = items.find(({ id }) => id === form.values.item) ?? null;
  const drawer = item ? state.value.shop.stock[item.id] : null;
  const count = readNumber(form.values.count, { name: "The count", min: 0, max: 1e6 });
  const send = () => {
    if (!item || count.error) return form.setErrors({ item: item ? null : "Nothing is chosen. Choose what was counted.", count: count.error });
    return keep([{ kind: "stock.counted", machine: null, body: { item: item.id, count: count.value } }], `${item.name}: ${figure(count.value)} ${item.unit} in the drawer.`);
  };
  const last = drawer ? `By the record ${figure(drawer.count)} ${item?.unit}${drawer.at ? `, counted ${sayWhen(drawer.at, { zone: calendar.value.zone, now: world.value.now })}` : ""}.` : "Not counted before.";
  const off = drawer && count.value !== null ? count.value - drawer.count : 0;
  return html`<${Page} title="Drawer count" back="#/log"><${Form} onSend=${send} problem=${problem}><div class="form-grid"><div class="form">
    <${SelectField} label="What" blank="Choose what you counted" options=${items.map(({ id, name, machine }) => ({ value: id, text: machine ? `${name} (${definitions.value.byId.get(machine)?.name})` : name }))} ...${form.field("item")} />
    <${NumberField} label="How many are there" unit=${item?.unit} hint=${item ? last : ""} ...${form.field("count")} />
    </div><div class="side">${item && count.value !== null && html`<${WillDo} lines=${[
      off !== 0 ? `the record was off by ${figure(Math.abs(off))}: there are ${off > 0 ? "more" : "fewer"} than it says` : "the drawer counts as seen today",
      count.value <= item.reorder_at && `time to order: the reorder point is ${figure(item.reorder_at)}`]} />`}
    <${Button} big>Keep the count<//></div></div><//><//>`;
}
