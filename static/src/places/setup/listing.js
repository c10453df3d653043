// Lists of definitions: a row for each, those out of use below, and the way to add one.
import { html } from "htm/preact";
import { ButtonLink, Empty, Section } from "../../kit/index.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {import("preact").ComponentChildren} Children */

/** One row that leads to its page. @param {{ href: string, name: string, side?: Children, note?: Children }} props */
export function Row({ href, name, side, note }) {
  return html`<li><a class="setup-row" href=${href}><b>${name}</b>${side && html`<span class="soft setup-row-side">${side}</span>`}${note && html`<span class="soft setup-row-note">${note}</span>`}</a></li>`;
}

/** @param {{ children?: Children }} props */
export const Rows = ({ children }) => html`<ul class="setup-rows">${children}</ul>`;

/** What was taken out of use. @param {{ list: Definition[], on: string }} props */
export function OutOfUse({ list, on }) {
  const out = list.filter((one) => one.retired);
  if (!out.length) return null;
  return html`<${Section} title="Out of use"><${Rows}>${out.map((one) => html`<${Row} key=${one.id} href=${`#/setup/${on}/${one.id}`} name=${one.name} />`)}<//><//>`;
}

/** @param {{ on: string, text: string }} props */
export const Add = ({ on, text }) => html`<div class="row"><${ButtonLink} href=${`#/setup/${on}/new`}>${text}<//></div>`;

/** @param {{ list: Definition[], on: string, none: string, side?: (one: Definition) => Children, note?: (one: Definition) => Children }} props */
export function Listing({ list, on, none, side, note }) {
  const used = list.filter((one) => !one.retired);
  return html`${used.length ? html`<${Rows}>${used.map((one) => html`<${Row} key=${one.id} href=${`#/setup/${on}/${one.id}`} name=${one.name} side=${side?.(one)} note=${note?.(one)} />`)}<//>` : html`<${Empty}>${none}<//>`}
    <${OutOfUse} list=${list} on=${on} />`;
}
