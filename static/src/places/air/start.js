// Before the work: which alloy, which work, which set-up; what stops it and what it asks.
import { html } from "htm/preact";
import { ButtonLink, Page, SelectField, useForm } from "../../kit/index.js";
import { cards, definitions } from "../../store/index.js";
import { useBegun } from "../keeping.js";
import { inUse } from "../standing.js";
import { BLANK, WorkFields, choiceOf } from "./chooser.js";
import { Demanded } from "./demands.js";
import { NoCards, offered, useRanBefore } from "./shared.js";
import { UNKNOWN, demandsOf, usualWork } from "./work.js";

/** @param {{ query: URLSearchParams }} props */
export default function StartOfWork({ query }) {
  const machines = inUse(definitions.value.machines).filter((one) => usualWork(one).length > 0);
  const asked = machines.find(({ id }) => id === query.get("machine")) ?? null;
  const form = useForm({ ...BLANK, machine: asked?.id ?? "", alloy: query.get("alloy") ?? "", process: query.get("process") ?? usualWork(asked)[0] ?? "" });
  useBegun(form);
  const machine = machines.find(({ id }) => id === form.values.machine) ?? null;
  const last = useRanBefore(machine?.id ?? "", form.values.alloy);
  if (!cards.value) return html`<${Page} title="Start of work" back="#/air"><${NoCards} /><//>`;
  const demands = demandsOf(cards.value, choiceOf(form.values, last));
  const known = form.values.alloy && form.values.alloy !== UNKNOWN;
  return html`<${Page} title="Start of work" back="#/air"><div class="form-grid"><div class="form">
      <${SelectField} label="Machine" blank="Any machine" optional value=${form.values.machine} options=${machines.map(({ id, name }) => ({ value: id, text: name }))}
        onValue=${(/** @type {string} */ id) => form.set({ machine: id, process: usualWork(machines.find((one) => one.id === id) ?? null)[0] ?? form.values.process })} />
      <${WorkFields} cards=${cards.value} form=${form} machine=${machine} lately=${offered()} last=${last} /></div>
    <div class="side">${demands ? html`<${Demanded} demands=${demands} />` : html`<p class="soft">Choose the alloy and the work: what they ask stands here, and what stops them.</p>`}
      ${demands && html`<div class="row">${known && html`<${ButtonLink} line href=${`#/air/alloy/${encodeURIComponent(form.values.alloy)}`}>The alloy's card<//>`}
        ${machine && html`<${ButtonLink} line href=${`#/log/batch?${new URLSearchParams({ machine: machine.id, alloy: form.values.alloy, process: form.values.process })}`}>Log a batch<//>`}</div>`}</div></div><//>`;
}
