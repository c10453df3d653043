// Who is named at this tab, beside the heading of every place; pressing it lets somebody else be named.
import { html } from "htm/preact";
import { person } from "../store/index.js";

export function Here() {
  const one = person.value;
  if (!one) return null;
  return html`<a class="here num" href="#/who" aria-label=${`${one.name} is here. Somebody else?`}>${one.initials}</a>`;
}
