// While the machine is stopped: what is worth doing together with what is due.
import { html } from "htm/preact";
import { Section } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { doneSince, kept } from "./kept.js";
import { sayEarly, sayMinutes, sayTogether } from "./words.js";

/** @typedef {import("./words.js").Bundle} Bundle */

/** @param {{ id: string, at: string, said?: string }} props */
function TaskLine({ id, at, said }) {
  const task = definitions.value.byId.get(id);
  if (!task) return null;
  return html`<li><a href=${task.checklist ? `#/round/${at}/${task.checklist}` : `#/task/${at}/${id}`}><b>${task.name}</b>${said && html`<span class="soft">${said}</span>`}</a></li>`;
}

/** @param {{ machine: string }} props */
export function Bundles({ machine }) {
  const { byId } = definitions.value;
  /** @type {Bundle[]} */
  const bundles = kept.value?.machines[machine]?.bundles ?? [];
  const standing = bundles.filter((one) => ![...one.because, ...one.with.map(({ task }) => task)].some((id) => doneSince(id, byId)));
  if (!standing.length) return null;
  return html`<${Section} title="While it is stopped" area="bundle">${standing.map((bundle) => html`<div class="bundle" key=${bundle.with[0]?.task}>
    <p>${bundle.stopped ? "It is out of service: " : "It is locked out for what is due: "}worth doing at the same time, though not due yet.</p>
    ${bundle.because.length > 0 && html`<h3>Due</h3><ul class="lines">${bundle.because.map((id) => html`<${TaskLine} key=${id} id=${id} at=${machine} said=${sayMinutes(byId.get(id)?.minutes ?? 0)} />`)}</ul>`}
    <h3>With it</h3><ul class="lines">${bundle.with.map((row) => html`<${TaskLine} key=${row.task} id=${row.task} at=${machine} said=${sayEarly(row)} />`)}</ul>
    <p>${sayTogether(bundle)}</p></div>`)}<//>`;
}
