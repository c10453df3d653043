// Log: the quick entries.
import { html } from "htm/preact";
import { Icon, Page, Section } from "../../kit/index.js";
import { LastEntries } from "../entries.js";
import Batch from "./batch.js";
import Coolant from "./coolant.js";
import Fluid from "./fluid.js";
import MeterRead from "./meter.js";
import Note from "./note.js";
import PartChange from "./part.js";
import SheetForm from "./sheet.js";
import Stock from "./stock.js";

/** @type {Record<string, { text: string, icon: string, form: import("preact").ComponentType<any> }>} */
const WAYS = {
  batch: { text: "Batch run", icon: "batch", form: Batch },
  part: { text: "Blade, belt or part changed", icon: "blade", form: PartChange },
  coolant: { text: "Coolant top-up", icon: "drop", form: Coolant },
  fluid: { text: "Way oil and other fluids", icon: "drop", form: Fluid },
  meter: { text: "Meter reading", icon: "meter", form: MeterRead },
  note: { text: "Note or photo", icon: "note", form: Note },
  stock: { text: "Drawer count or order", icon: "stock", form: Stock },
  sheet: { text: "Printed sheet, typed in", icon: "note", form: SheetForm },
};

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function Log({ parts: [way = ""], query }) {
  const Found = WAYS[way]?.form;
  if (Found) return html`<${Found} query=${query} />`;
  const machine = query.get("machine");
  const tail = machine ? `?machine=${machine}` : "";
  return html`<${Page} title="Log"><div class="log-ways">${Object.entries(WAYS).map(
    ([name, { text, icon }]) => html`<a key=${name} class="log-way" href=${`#/log/${name}${tail}`}><${Icon} name=${icon} size=${36} />${text}</a>`,
  )}<a class="log-way" href=${machine ? `#/finding/${machine}` : "#/finding"}><${Icon} name="hand" size=${36} />Something is wrong</a>
    <a class="log-way" href=${`#/sums${tail}`}><${Icon} name="sum" size=${36} />Bench sums</a></div>
    ${machine && html`<${Section} title="Last entries"><${LastEntries} machine=${machine} /><//>`}<//>`;
}
