// The history of one machine as a strip: rounds, findings, tags, changes, readings beyond limits and tasks, day by day.
import { html } from "htm/preact";
import { Empty, Page, SelectField, go } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { Age, machinesIn, usePast } from "../records/kept.js";
import { Strip } from "./strip.js";

const SPANS = [["28", "4 weeks"], ["91", "13 weeks"], ["371", "53 weeks"]];

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function History({ parts: [id = ""], query }) {
  const past = usePast();
  const days = Number(SPANS.find(([value]) => value === query.get("days"))?.[0] ?? 91);
  const subject = id === "shop" ? past?.shop : past?.machines[id];
  const options = [...machinesIn(past).map(({ id: value, name }) => ({ value, text: name })), { value: "shop", text: "The shop" }];
  const name = id === "shop" ? "The shop" : definitions.value.byId.get(id)?.name ?? "a machine";
  return html`<${Page} title=${id ? `History: ${name}` : "History of a machine"} back="#/records" aside=${id && id !== "shop" ? html`<a href=${`#/machine/${id}`}>The machine</a>` : null}><${Age} />
    ${past && html`<div class="filters"><${SelectField} label="Machine" blank="Choose a machine" options=${options} value=${id} onValue=${(/** @type {string} */ to) => go(to ? `history/${to}?days=${days}` : "history", { replace: true })} />
      <${SelectField} label="How far back" options=${SPANS.map(([value, text]) => ({ value, text }))} value=${String(days)} onValue=${(/** @type {string} */ to) => go(`history/${id}?days=${to}`, { replace: true })} /></div>`}
    ${subject && html`<${Strip} key=${`${id} ${days}`} past=${past} subject=${subject} days=${days} name=${name} />`}
    ${past && !subject && html`<${Empty}>${id ? "Nothing is kept of this machine in these weeks." : "Choose a machine, and its weeks are drawn day by day."}<//>`}<//>`;
}
