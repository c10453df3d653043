// What the rules ask of a piece of work, on a screen: stops first, then cautions, then the controls in their order.
import { html } from "htm/preact";
import { Icon, StateMark, counted } from "../../kit/index.js";
import { Caution } from "../../kit/caution.js";
import { cards } from "../../store/index.js";
import { sourceOf } from "./work.js";

/** @typedef {import("../../core/hazards.js").Demands} Demands */

/** The hierarchy of controls: the first that can be done is the one to do. @type {[string, string][]} */
const TIERS = [
  ["eliminate", "Take the hazard away"],
  ["substitute", "Use something less harmful"],
  ["enclose", "Enclose it, exhaust it"],
  ["administer", "Order of work and wash-up"],
  ["protect", "Wear, last of all"],
];

/** Hazards by the drawings that the kit has. @type {Record<string, string>} */
const DRAWN = { lung: "lung", eye: "eye", ear: "ear", hand: "hand", skin: "hand", blade: "blade", drop: "drop", fire: "extinguisher" };

/** @param {{ stops: Demands["stops"] }} props */
export function Stops({ stops }) {
  if (!stops.length) return null;
  return html`<div class="stops" role="alert"><${StateMark} mark="stop" size=${34} word=${`Do not start: ${counted(stops.length, "stop")}`} />
    <ul>${stops.map(({ rule, text }) => html`<li key=${rule}>${text}</li>`)}</ul></div>`;
}

/** The caution panels, each with its closing line. @param {{ demands: Demands }} props */
export function WorkCautions({ demands }) {
  return html`${demands.cautions.map((one) => html`<${Caution} key=${one.key} signal=${one.signal} title=${one.what} text=${one.text} hazard=${DRAWN[one.hazard]} />`)}`;
}

/** @param {{ demands: Demands }} props */
export function Controls({ demands: { controls } }) {
  const tiers = TIERS.filter(([key]) => controls[key]?.length);
  if (!tiers.length) return null;
  return html`<ol class="tiers">${tiers.map(([key, title]) => html`<li key=${key}><h3>${title}</h3><ul>${controls[key].map((text) => html`<li key=${text}>${text}</li>`)}</ul></li>`)}</ol>
    <p class="soft">In this order: what takes the hazard away comes before what is worn against it.</p>`;
}

/** What is worn, by drawing and word. @param {{ keys: string[] }} props */
export function Worn({ keys }) {
  const known = cards.value?.ppe ?? {};
  const list = keys.filter((key) => known[key]);
  if (!list.length) return null;
  return html`<ul class="worn">${list.map((key) => html`<li key=${key}><${Icon} name=${DRAWN[known[key].part] ?? "other"} size=${26} /> ${known[key].text}</li>`)}</ul>`;
}

/** @param {{ demands: Demands }} props */
export function DemandSources({ demands }) {
  const library = cards.value;
  if (!library || !demands.cautions.length) return null;
  return html`<details class="why"><summary>Where this comes from</summary><ul class="sources">${demands.cautions.map((one) => {
    const { text, caveat } = sourceOf(library, one.source);
    return html`<li key=${one.key}><b>${one.what}:</b> ${text}${caveat && html` <b>(${caveat})</b>`}</li>`;
  })}</ul></details>`;
}

/**
 * What is asked of the work besides its stops, which stand with the choice. `brief`: controls folded away, where figures are to be typed below.
 * @param {{ demands: Demands | null, brief?: boolean }} props
 */
export function Demanded({ demands, brief }) {
  if (!demands) return null;
  if (!demands.rules.length && !demands.stops.length) {
    return html`<p class="soft" role="status">No rule of the library speaks to this work. That is no leave to start: read the safety data sheet.</p>`;
  }
  const controls = html`<${Controls} demands=${demands} />`;
  return html`<div class="demands"><${WorkCautions} demands=${demands} />
    ${brief ? html`<details class="more"><summary><b>Controls, in their order</b><span class="soft">${counted(demands.ppe.length, "thing")} to wear among them</span></summary>${controls}</details>` : controls}
    <${DemandSources} demands=${demands} /></div>`;
}
