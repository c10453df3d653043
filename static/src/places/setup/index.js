// Set-up: what people define, by page.
import { html } from "htm/preact";
import { Overview } from "./overview.js";
import { Stand } from "./stand.js";

/** Each page by the first word after `setup`. @type {Record<string, (props: { parts: string[] }) => any>} */
const PAGES = { stand: Stand };

/** @param {{ parts: string[] }} props */
export default function Setup({ parts: [page = "", ...rest] }) {
  const found = PAGES[page];
  return found ? html`<${found} parts=${rest} />` : html`<${Overview} />`;
}
