// The frame of a place: heading, what stands beside it, sections, and the foot in thumb's reach.
import { html } from "htm/preact";
import { Icon } from "./icons.js";

/** @typedef {import("preact").ComponentChildren} Children */

/**
 * @param {{ title: string, aside?: Children, back?: string, foot?: Children, wide?: boolean, children?: Children }} props
 *   `back` is the address the back arrow leads to; `foot` stays at the bottom of the screen
 */
export function Page({ title, aside, back, foot, wide, children }) {
  return html`<div class=${`page${wide ? " page-wide" : ""}`}>
    <header class="page-head">
      ${back && html`<a class="page-back" href=${back} aria-label="Back"><${Icon} name="back" /></a>`}
      <div class="page-title"><h1 tabindex="-1">${title}</h1>${aside && html`<div class="page-aside">${aside}</div>`}</div>
    </header>
    <div class="page-body">${children}</div>
    ${foot && html`<div class="page-foot">${foot}</div>`}
  </div>`;
}

/** A titled part of a page. @param {{ title?: string, aside?: Children, children?: Children, area?: string }} props */
export function Section({ title, aside, children, area }) {
  return html`<section class=${`section${area ? ` area-${area}` : ""}`}>
    ${title && html`<h2 class="section-head"><span>${title}</span>${aside && html`<span class="section-aside">${aside}</span>`}</h2>`}
    ${children}
  </section>`;
}

/** Said when there is nothing to show. @param {{ children?: Children }} props */
export function Empty({ children }) {
  return html`<p class="empty">${children}</p>`;
}

/** Something the reader should know, without colour. @param {{ title?: string, children?: Children, live?: boolean }} props */
export function Notice({ title, children, live }) {
  return html`<div class="notice" role=${live ? "status" : undefined}>${title && html`<b>${title}</b>`}<div>${children}</div></div>`;
}

/** Name and value pairs. @param {{ rows: [string, Children][] }} props */
export function Facts({ rows }) {
  return html`<dl class="facts">${rows.map(
    ([name, value]) => html`<div key=${name}><dt>${name}</dt><dd>${value}</dd></div>`,
  )}</dl>`;
}
