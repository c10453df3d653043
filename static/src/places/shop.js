// Shop: every machine by its bay.
import { html } from "htm/preact";
import { Dial, Empty, Icon, Page, Section, StateMark, Tag, TagLine, iconOf } from "../kit/index.js";
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
    .map(({ id, name }) => ({ name, machines: all.filter((one) => one.machine && bayOf(one) === id).sort(byName) }))
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

export default function Shop() {
  const all = allStandings.value;
  const shop = all.find(({ machine }) => machine === null);
  return html`<${Page} title=${definitions.value.shop?.name ?? "Shop"}>
    ${byBay(all).map(({ name, machines }) => html`<${Section} key=${name} title=${name}><div class="tags">
      ${machines.map((standing) => html`<${ShopTag} key=${standing.machine?.id} standing=${standing} />`)}</div><//>`)}
    ${shop && html`<${Section} title="For the whole shop"><div class="tags"><${ShopTag} standing=${shop} /></div><//>`}
    ${!all.length && html`<${Empty}>No machine stands here yet. <a href="#/setup">Add the first in Set-up</a>.<//>`}
  <//>`;
}
