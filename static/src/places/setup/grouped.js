// Lists of what belongs to machines: a section for each machine, the shop's own last, and one machine alone when asked.
import { html } from "htm/preact";
import { Empty, Section, SelectField, go, where } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { inUse } from "../standing.js";
import { OutOfUse, Row, Rows } from "./listing.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {import("preact").ComponentChildren} Children */

const SHOP = "shop"; // in the address, for what belongs to no machine

/** Machines to choose from: those in use, and the one that is chosen already. @param {string} [chosen] */
export const machineOptions = (chosen) => definitions.value.machines.filter((one) => !one.retired || one.id === chosen).map((one) => ({ value: one.id, text: String(one.name) }));

/** @param {{ list: Definition[], on: string, none: string, shop: string, side?: (one: Definition) => Children, note?: (one: Definition) => Children }} props `shop`: the heading of what belongs to no machine */
export function Grouped({ list, on, none, shop, side, note }) {
  const used = inUse(list);
  const machines = inUse(definitions.value.machines);
  const asked = where.value.query.get("machine") ?? "";
  const groups = [...machines.map((one) => ({ key: one.id, title: String(one.name), of: used.filter((it) => it.machine === one.id) })),
    { key: SHOP, title: shop, of: used.filter((it) => !machines.some((one) => one.id === it.machine)) }];
  const shown = groups.filter(({ key, of }) => of.length && (!asked || key === asked));
  const filter = html`<${SelectField} label="Show" blank="All machines" value=${asked} options=${groups.filter(({ of }) => of.length).map(({ key, title }) => ({ value: key, text: title }))}
    onValue=${(/** @type {string} */ key) => go(key ? `setup/${on}?machine=${key}` : `setup/${on}`, { replace: true })} />`;
  return html`${groups.filter(({ of }) => of.length).length > 1 && filter}
    ${shown.length ? shown.map(({ key, title, of }) => html`<${Section} key=${key} title=${title}><${Rows}>${of.map((one) => html`<${Row} key=${one.id}
      href=${`#/setup/${on}/${one.id}`} name=${one.name} side=${side?.(one)} note=${note?.(one)} />`)}<//><//>`) : html`<${Empty}>${none}<//>`}
    ${!asked && html`<${OutOfUse} list=${list} on=${on} />`}`;
}
