// Shop: every machine by its bay.
import { html } from "htm/preact";
import { ButtonLink, Dial, Empty, Icon, Page, Section, StateMark, Tag, TagLine, iconOf } from "../kit/index.js";
import { definitions } from "../store/index.js";
import { inUse, sayNext } from "./standing.js";
import { leadingDial } from "./today.js";
import { allStandings } from "./world.js";

/** @typedef {import("./standing.js").Standing} Standing */

/** Machines by bay, in the order of the bays; those without one last. @param {Standing[]} all */
function byBay(all) {
  const bays = [...inUse(definitions.value.bays).map(({ id, name }) => ({ id, name: String(name) })), { id: null, name: "No bay" }];
  const known = new Set(bays.map(({ id }) => id));
  const bayOf = (/** @type {Standing} */ one) => (known.has(one.machine?.bay ?? null) ? one.machine?.bay ?? null : null);
  return bays
    .map(({ id, name }) => ({ id, name, machines: all.filter((one) => one.machine && bayOf(one) === id).sort(byName) }))
    .filter(({ machines }) => machines.length > 0);
}

/** @param {Standing} a @param {Standing} b */
const byName = (a, b) => String(a.machine?.name).localeCompare(String(b.machine?.name), undefined, { numeric: true });

/** @param {{ standing: Standing }} props */
function ShopTag({ standing }) {
  const { machine, mark, word, lines } = standing;
  const said = lines[0]?.text ?? sayNext(standing);
  const dial = leadingDial(standing);
  const drawing = html`<span class="tag-icon"><${Icon} name=${iconOf(machine ?? {})} size=${56} /></span>`;
  return html`<${Tag} href=${`#/machine/${machine?.id ?? "shop"}`} title=${machine?.name ?? "The shop"} aside=${dial ? html`<${Dial} ...${dial} />` : drawing}>
    <${StateMark} mark=${mark} word=${word} />
    ${said && html`<${TagLine}>${said}<//>`}
  <//>`;
}

/** The way into a machine's round, where one waits. @param {{ standing: Standing }} props */
function RoundOf({ standing: { machine, startUp, mark } }) {
  if (!machine || !startUp) return html`<p class="soft">No start-up round is set up for it.</p>`;
  const word = mark === "tagged" ? "Tagged: do not operate" : startUp.due.state === "resting" ? "Walk the round again" : "Start the round";
  return html`<${ButtonLink} line=${word !== "Start the round"} href=${mark === "tagged" ? `#/machine/${machine.id}` : `#/round/${machine.id}/${startUp.checklist.id}`}>${word}<//>`;
}

/** One bay, as its label opens it: its machines, each with the way into its round. @param {{ id: string }} props */
function Bay({ id }) {
  const bay = definitions.value.bays.find((one) => one.id === id);
  const all = allStandings.value.filter(({ machine }) => machine && machine.bay === id).sort(byName);
  if (!bay) return html`<${Page} title="Bay" back="#/shop"><${Empty}>This bay is not on this phone. It may have been taken out in Set-up, or the phone has not heard of it yet.<//><//>`;
  return html`<${Page} title=${bay.name} back="#/shop">${bay.retired && html`<p class="notice">This bay was taken out of the shop.</p>`}
    ${all.length ? html`<div class="tags">${all.map((standing) => html`<div class="stack" key=${standing.machine?.id}><${ShopTag} standing=${standing} /><${RoundOf} standing=${standing} /></div>`)}</div>`
      : html`<${Empty}>No machine stands here. <a href="#/setup/machines">Set-up says which bay each is in</a>.<//>`}<//>`;
}

/** @param {{ parts?: string[] }} props */
export default function ShopPlace({ parts: [bay] = [] }) {
  return bay ? html`<${Bay} id=${bay} />` : html`<${Shop} />`;
}

function Shop() {
  const all = allStandings.value;
  const shop = all.find(({ machine }) => machine === null);
  return html`<${Page} title=${definitions.value.shop?.name ?? "Shop"}>
    ${byBay(all).map(({ id, name, machines }) => html`<${Section} key=${id} title=${id ? html`<a href=${`#/shop/${id}`}>${name}</a>` : name}><div class="tags">
      ${machines.map((standing) => html`<${ShopTag} key=${standing.machine?.id} standing=${standing} />`)}</div><//>`)}
    ${shop && html`<${Section} title="For the whole shop"><div class="tags"><${ShopTag} standing=${shop} /></div><//>`}
    ${!all.length && html`<${Empty}>No machine stands here yet. <a href="#/setup">Add the first in Set-up</a>.<//>`}
  <//>`;
}
