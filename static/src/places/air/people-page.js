// Who is protected how: equipment, fit tests, training and sign-offs of each person, with what runs out.
import { html } from "htm/preact";
import { ButtonLink, Empty, Notice, Page, Section, StateMark } from "../../kit/index.js";
import { definitions, person, recent, state } from "../../store/index.js";
import { nameOf } from "../names.js";
import { inUse } from "../standing.js";
import { crewCalendar } from "./crew-calendar.js";
import { markOf, rowsOf, signOffOf, walkedWithout } from "./people.js";
import { sayAt } from "./shared.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const KINDS = { ppe: "equipment", fit: "fit test", machine: "sign-off", topic: "training" };

/** @param {{ row: import("./people.js").Row }} props */
export function StandingRow({ row }) {
  return html`<li class="standing"><div class="sign-head"><b>${row.name}</b><${StateMark} mark=${markOf(row.word)} word=${row.word} /></div>
    <p><span class="soft">${KINDS[row.kind]}.</span> ${row.why}</p></li>`;
}

/** Machines that sign people off, and for which this person has none that holds. @param {Definition} one */
function machinesWithout(one) {
  return inUse(definitions.value.machines).filter(({ id }) => {
    const { asked, current } = signOffOf(state.value.shop.people, one.id, id, crewCalendar());
    return asked && !current;
  });
}

/** @param {{ one: Definition }} props */
function Person({ one }) {
  const rows = rowsOf(state.value.shop.people?.[one.id], one.id, nameOf, crewCalendar());
  const without = machinesWithout(one).filter(({ id }) => !rows.some((row) => row.kind === "machine" && row.key === id));
  return html`<${Section} title=${one.name}>${!rows.length && html`<p class="soft">Nothing is in the record of this person's equipment, fit tests or training.</p>`}
    <ul class="lines">${rows.map((row) => html`<${StandingRow} key=${row.kind + row.key} row=${row} />`)}</ul>
    ${without.length > 0 && html`<p><${StateMark} mark="due" word="No sign-off" /> ${without.map(({ name }) => name).join(", ")}</p>`}<//>`;
}

/** What whoever leads the shop is told. */
export function ToldToTheLead() {
  const me = person.value;
  if (me?.role !== "owner") return null;
  const walked = walkedWithout(recent.value, state.value.shop.people, crewCalendar()).filter((row) => row.person !== me.id);
  if (!walked.length) return null;
  return html`<${Notice} title="Rounds walked without a current sign-off"><ul>${walked.map((row) => html`<li key=${row.person + row.machine}>
    ${nameOf(row.person)} at ${nameOf(row.machine)}, ${sayAt(row.at)}. ${row.why}</li>`)}</ul><//>`;
}

export default function People() {
  const people = inUse(definitions.value.people);
  return html`<${Page} title="People" back="#/air"><${ToldToTheLead} />
    <div class="row"><${ButtonLink} href="#/air/log/ppe">Equipment checked<//><${ButtonLink} line href="#/air/log/fit">Fit test<//><${ButtonLink} line href="#/air/log/training">Training signed off<//></div>
    ${!people.length && html`<${Empty}>No people are on this phone yet.<//>`}
    <div class="families">${people.map((one) => html`<${Person} key=${one.id} one=${one} />`)}</div><//>`;
}
