// Hazards that are open, how they are said, and settling one.
import { html } from "htm/preact";
import { Button, ButtonLink, Empty, Facts, Form, Notice, Page, StateMark, TextField, capital, sayDay, useForm } from "../../kit/index.js";
import { cards, definitions, state } from "../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { initialsOf, nameOf } from "../names.js";
import { Photo } from "../photo.js";
import { riskRows, sayRisk } from "../risk.js";
import { inUse } from "../standing.js";
import { calendar } from "../world.js";
import { sayAt } from "./shared.js";
import { alloyName } from "./work.js";

/** @typedef {{ id: string, machine: string | null, hazard: any }} Open */

/** Every open hazard of the shop, the oldest first. @returns {Open[]} */
export function openHazards() {
  const places = [null, ...inUse(definitions.value.machines).map(({ id }) => id)];
  const found = places.flatMap((machine) => {
    const doc = machine ? state.value.machines[machine] : state.value.shop;
    return Object.entries(doc?.hazards ?? {}).map(([id, hazard]) => ({ id, machine, hazard }));
  });
  return found.sort((a, b) => (a.hazard.at < b.hazard.at ? -1 : 1));
}

/** What it was, in a few words. @param {any} hazard */
export const sayHazard = (hazard) => hazard.text || capital(hazard.seen.join(", ")) || "Hazard";

/** @param {any} hazard */
export function sayWork({ process, alloy }) {
  const library = cards.value;
  return [library?.processes[process]?.name ?? capital(process.replaceAll("_", " ")), alloy && alloyName(library, alloy)].filter(Boolean).join(", ");
}

/** @param {{ risk: any }} props */
function Risk({ risk }) {
  if (!risk) return html`<${StateMark} mark="near" word="risk not estimated" />`;
  const late = risk.review_on < calendar.value.today;
  const now = risk.after ?? risk.before;
  return html`<span>Risk ${sayRisk(now)}${risk.after ? `, before ${sayRisk(risk.before)}` : ", no controls yet"}</span>
    ${late && html`<${StateMark} mark="late" word=${`review was due ${sayDay(risk.review_on, calendar.value.today)}`} />`}`;
}

/** @param {{ open: Open[] }} props */
export function HazardList({ open }) {
  return html`<ul class="lines">${open.map(({ id, machine, hazard }) => html`<li key=${id}><a class="hazard" href=${`#/air/hazard/${id}`}>
    <b>${sayHazard(hazard)}</b>${(hazard.near_miss || hazard.first_aid) && html`<${StateMark} mark="late" word=${[hazard.near_miss && "near miss", hazard.first_aid && "first aid"].filter(Boolean).join(", ")} />`}
    <small>${sayWork(hazard)}${machine ? ` at ${nameOf(machine)}` : ""}, ${sayAt(hazard.at)}. <${Risk} risk=${hazard.risk} /></small></a></li>`)}</ul>`;
}

/** @param {Open} one @returns {[string, any][]} */
function factsOf({ machine, hazard }) {
  return /** @type {[string, any][]} */ ([
    ["Work", sayWork(hazard)], machine && ["At", nameOf(machine)], ["Noted", `${sayAt(hazard.at)}, ${initialsOf(hazard.by)}`],
    hazard.minutes && ["For", `${hazard.minutes} min`], hazard.seen.length && ["Seen", hazard.seen.join(", ")],
    hazard.controls.length && ["Controls in use", hazard.controls.join("; ")], hazard.exposed.length && ["Exposed", hazard.exposed.map(nameOf).join(", ")],
    ...(hazard.risk ? riskRows(hazard.risk) : []),
  ].filter(Boolean));
}

/** @param {{ id: string }} props */
export default function HazardPage({ id }) {
  const one = openHazards().find((open) => open.id === id);
  const form = useForm({ done: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title="Hazard" said=${kept} to=${{ href: "#/air", text: "Air & dust" }} also=${{ href: "#/air/hazards", text: "Hazards" }} />`;
  if (!one) return html`<${Page} title="Hazard" back="#/air/hazards"><${Empty}>This hazard is not open any more. Somebody may have settled it on another phone.<//><//>`;
  const send = () => {
    const done = form.values.done.trim();
    if (!done) return form.setErrors({ done: "What was done is empty. Write what took the hazard away, or what keeps it off." });
    return keep([{ kind: "hazard.closed", machine: one.machine, body: { hazard: id, done } }], `Settled: ${done}`);
  };
  return html`<${Page} title=${sayHazard(one.hazard)} back="#/air/hazards"><div class="form-grid"><div class="stack"><${Facts} rows=${factsOf(one)} />
      ${one.hazard.photo && html`<${Photo} sha256=${one.hazard.photo} />`}
      ${!one.hazard.risk && html`<${Notice}>Its risk was not estimated. Settle it with what was done, and note it anew with an estimate where it stays.<//>`}</div>
    <${Form} onSend=${send} problem=${problem}><${TextField} label="What was done" hint="What takes the hazard away comes before what is worn against it" lines=${3} ...${form.field("done")} />
      <${WillDo} lines=${["it is taken off the list of open hazards; it stays in the record"]} /><${Button} big>Settle the hazard<//><//></div><//>`;
}

export function Hazards() {
  const open = openHazards();
  return html`<${Page} title="Open hazards" back="#/air" foot=${html`<${ButtonLink} big href="#/air/log/hazard">Note a hazard<//>`}>
    ${open.length ? html`<${HazardList} open=${open} />` : html`<${Empty}>No hazard is open. Dust, haze, a spill, a taste in the mouth: note it when you meet it.<//>`}<//>`;
}
