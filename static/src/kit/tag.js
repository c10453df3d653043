// The tag: a card with a punched hole and one cut corner, for machines and findings.
import { html } from "htm/preact";

/**
 * @typedef {object} TagProps
 * @property {string} [href] makes the whole tag a link
 * @property {() => void} [onPress] makes the whole tag a button
 * @property {string} title
 * @property {import("preact").ComponentChildren} [children] the lines under the title
 * @property {import("preact").ComponentChildren} [aside] a dial or a drawing at the right
 * @property {boolean} [quiet] for what needs nothing today
 */

/** @param {TagProps} props */
export function Tag({ href, onPress, title, children, aside, quiet }) {
  const look = `tag${quiet ? " tag-quiet" : ""}`;
  const inside = html`<span class="tag-hole" aria-hidden="true"></span>
    ${aside && html`<span class="tag-aside">${aside}</span>`}
    <span class="tag-title">${title}</span>${children}`;
  if (href) return html`<a class=${look} href=${href}>${inside}</a>`;
  if (onPress) return html`<button type="button" class=${look} onClick=${onPress}>${inside}</button>`;
  return html`<div class=${look}>${inside}</div>`;
}

/** One line on a tag. @param {{ children?: import("preact").ComponentChildren }} props */
export function TagLine({ children }) {
  return html`<span class="tag-line">${children}</span>`;
}
