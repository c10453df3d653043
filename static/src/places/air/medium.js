// The card of one blasting medium: what it is, its free silica, how it breaks down, what the blasted surface adds.
import { html } from "htm/preact";
import { Empty, Page, Section, capital } from "../../kit/index.js";
import { Caution } from "../../kit/caution.js";
import { cards } from "../../store/index.js";
import { calendar } from "../world.js";
import { Stops } from "./demands.js";
import { LimitGroups } from "./limit-list.js";
import { formsOf, groupOf } from "./limits.js";
import { authorities } from "./shared.js";
import { sourceOf } from "./work.js";

/** Substances that the dust of a blast can hold whatever is blasted. */
const ALWAYS = ["particulates", "silica"];

/** @param {{ title: string, one: { text: string, source: string } | undefined }} props */
function Said({ title, one }) {
  if (!one) return null;
  const { caveat } = sourceOf(cards.value, one.source);
  return html`<li><b>${title}</b><p>${capital(one.text.replace(/\.$/, ""))}.${caveat && html` <b>(${caveat})</b>`}</p></li>`;
}

/** @param {{ keys: string[] }} props */
function Sources({ keys }) {
  return html`<details class="why"><summary>Where this comes from</summary><ul class="sources">${[...new Set(keys)].map((key) => html`<li key=${key}>${sourceOf(cards.value, key).text}</li>`)}</ul></details>`;
}

/** @param {{ id: string }} props */
export default function MediumCard({ id }) {
  const medium = cards.value?.media[id];
  if (!medium) return html`<${Page} title="Medium" back="#/air/media"><${Empty}>This medium has no card on this phone.<//><//>`;
  const groups = ALWAYS.flatMap((substance) => (cards.value.substances[substance] ? formsOf(cards.value, substance).map((form) => groupOf(cards.value, substance, form, authorities(), calendar.value.today)) : []));
  return html`<${Page} title=${medium.name} back="#/air/media" aside=${html`<span>blasting medium</span>`}>
    <div class="part-grid"><div class="stack">
      ${medium.refused && html`<${Stops} stops=${[{ rule: id, text: medium.refused.text }]} />`}
      <${Caution} signal=${medium.refused ? "danger" : "warning"} hazard="lung" title="Blast dust"
        text="Exhaust on and the door shut until the purge time is over. The dust holds the medium, the part and what was on its surface: paint with lead, cadmium plating, scale of beryllium copper." />
      <${Section} title="What it is"><ul class="lines reading-list"><${Said} title="Made of" one=${medium.contents} /><${Said} title="Free silica" one=${medium.silica} />
        <${Said} title="How it breaks down" one=${medium.breakdown} /></ul>
        <${Sources} keys=${[medium.contents, medium.silica, medium.breakdown].filter(Boolean).map((/** @type {any} */ one) => one.source)} /><//></div>
    <div class="stack"><${LimitGroups} groups=${groups} /></div></div><//>`;
}
