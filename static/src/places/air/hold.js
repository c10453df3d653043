// What Air & dust says in a round: a check that opens the door of a cabinet waits for its purge; who has no sign-off is told.
import { html } from "htm/preact";
import { Button, ButtonLink, Cautions, Notice } from "../../kit/index.js";
import { definitions, person, state } from "../../store/index.js";
import { inUse } from "../standing.js";
import { isCabinet } from "./cabinet.js";
import { Countdown } from "./countdown.js";
import { crewCalendar } from "./crew-calendar.js";
import { signOffOf } from "./people.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** Whether a check has the cabinet's door opened: its caution says so. @param {{ caution?: string | null }} check */
export const isDoorCheck = (check) => check.caution === "open_cabinet";

/**
 * In place of a check while the purge runs: it cannot be answered before the wait is over.
 * @param {{ check: { text: string }, machine: Definition, kept: any, first: boolean, onBack: () => void }} props
 */
export function HeldScreen({ check, machine, kept, first, onBack }) {
  return html`<div class="round-body"><h2>${check.text}</h2><p class="how">This check waits until the purge of ${machine.name} is over.</p>
      <${Countdown} kept=${kept} /><${Cautions} keys=${["open_cabinet"]} /></div>
    <div class="round-foot"><div class="round-main"><${Button} big line off=${first} onPress=${onBack}>Back<//><${ButtonLink} big line href=${`#/air/purge/${machine.id}`}>Purge timer<//></div></div>`;
}

/** The way to the cabinet's timer from a check that opens its door. @param {{ machine: Definition }} props */
export const TimerLink = ({ machine }) => (isCabinet(machine) ? html`<a class="timer-way" href=${`#/air/purge/${machine.id}`}>Purge timer</a>` : null);

/** Who leads the shop, by name. @param {string} but */
const leads = (but) => inUse(definitions.value.people).filter((one) => one.role === "owner" && one.id !== but).map(({ name }) => name);

/** Said at the start of a machine's round to whoever has no sign-off for it that holds today. @param {{ machine: Definition }} props */
export function SignOffSaid({ machine }) {
  const me = person.value;
  if (!me || !machine.id) return null;
  const { asked, current, why } = signOffOf(state.value.shop.people, me.id, machine.id, crewCalendar());
  if (!asked || current) return null;
  const lead = leads(me.id);
  return html`<div class="signed-off"><${Notice} live title=${`${me.name}, you have no current sign-off for ${machine.name}.`}>${why} Have somebody who is signed off stand beside you, or leave it.
    ${lead.length ? ` ${lead.join(" and ")} will read of this round under Air & dust.` : ""}<//></div>`;
}
