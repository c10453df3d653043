// The card of one alloy, to be read at the machine without signal: what is in it, why that matters, what its dust and chips do.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { ButtonLink, Empty, Facts, Notice, NumberField, Page, Section, StateMark, TextField, figure } from "../../kit/index.js";
import { Caution } from "../../kit/caution.js";
import { readNumber } from "../../kit/numbers.js";
import { cards } from "../../store/index.js";
import { calendar } from "../world.js";
import { besideCard, readCertificate } from "./certificate.js";
import { metalsIn } from "./in-dust.js";
import { LimitGroups } from "./limit-list.js";
import { groupsFor } from "./limits.js";
import { authorities } from "./shared.js";
import { alloyName, matters, sayPart, sourceOf } from "./work.js";

/** Elements that matter little to health, and so have no card of their own. @type {Record<string, string>} */
const PLAIN = { C: "Carbon", Si: "Silicon", P: "Phosphorus", S: "Sulfur", Sb: "Antimony", V: "Vanadium", Ti: "Titanium", Mg: "Magnesium", W: "Tungsten", Mo: "Molybdenum", O: "Oxygen", Nb: "Niobium",
  N: "Nitrogen", H: "Hydrogen", Ca: "Calcium", Bi: "Bismuth", Se: "Selenium", Zr: "Zirconium", Ag: "Silver" };

/** The names of elements. @param {string[]} symbols */
const named = (symbols) => symbols.map((symbol) => cards.value.elements[symbol]?.name ?? PLAIN[symbol] ?? symbol).join(", ");

/** @param {{ of: string }} props a source's key */
function From({ of }) {
  const { text, caveat } = sourceOf(cards.value, of);
  return html`<p class="soft">Source: ${text}${caveat && html` <b>(${caveat})</b>`}</p>`;
}

/** @param {{ alloy: any }} props */
function Composition({ alloy }) {
  const nameOf = (/** @type {string} */ symbol) => (named([symbol]) === symbol ? symbol : `${named([symbol])} (${symbol})`);
  const rows = alloy.composition.map((/** @type {any} */ part) => [
    nameOf(part.element), html`<span class="num">${sayPart(part)}</span>`]);
  return html`<${Section} title="What is in it"><${Facts} rows=${rows} /><p class="soft">By weight.</p>${alloy.notes && html`<p>${alloy.notes}</p>`}
    ${alloy.assumed && html`<p><b>Not on the certificate: ${named(alloy.assumed)}.</b> Taken as ${alloyName(cards.value, alloy.like)} permits, until the certificate says less.</p>`}<${From} of=${alloy.source} /><//>`;
}

/** Why each constituent matters. The strictest threshold first. @param {{ id: string }} props */
function Why({ id }) {
  const { elements } = cards.value;
  const found = matters(cards.value, id);
  if (!found.length) return html`<${Section} title="What matters in it"><p>None of its constituents reaches a figure at which the library speaks of it. Its dust is dust all the same.</p><//>`;
  return html`<${Section} title="What matters in it"><ul class="lines reading-list">${found.map(({ symbol, said }) => html`<li key=${symbol}><b>${said}</b><p>${elements[symbol].why}</p></li>`)}</ul>
    <details class="why"><summary>Where this comes from</summary><ul class="sources">${found.map(({ symbol, name }) => {
      const { text, caveat } = sourceOf(cards.value, elements[symbol].source);
      return html`<li key=${symbol}><b>${name}:</b> ${text}${caveat && html` <b>(${caveat})</b>`}</li>`;
    })}</ul></details><//>`;
}

/** @param {{ alloy: any }} props */
function Behaviour({ alloy }) {
  const { behaviours } = cards.value;
  const of = (/** @type {string} */ kind) => behaviours[`${kind}.${alloy[kind]}`];
  const [chips, dust, scrap] = ["chips", "dust", "scrap"].map(of);
  const like = alloy.like && html`<a href=${`#/air/alloy/${alloy.like}`}>${alloyName(cards.value, alloy.like)}</a>`;
  return html`<${Section} title="Chips, dust and scrap">${like && html`<p>Handled like ${like}.</p>`}
    ${alloy.beyond && html`<${Notice} title=${`${named(alloy.beyond)}: beyond that card`}>What it says of chips and dust does not cover this. Go by what the work asks and the safety data sheet.<//>`}<ul class="lines reading-list">
    ${chips && html`<li><b>Chips</b><p>${chips.text}</p></li>`}${dust && html`<li><b>Dust</b><p>${dust.text}</p></li>`}
    ${scrap && html`<li><b>Scrap, kept apart as</b><p>${scrap.text}</p></li>`}</ul><//>`;
}

/** @param {{ alloy: any }} props */
function Figures({ alloy }) {
  const range = (/** @type {any} */ one, /** @type {string} */ unit) => html`<span class="num">${figure(one.value, 3)}${one.high ? ` to ${figure(one.high, 3)}` : ""}</span> ${unit}`;
  const stands = (/** @type {any} */ one) => {
    const { caveat } = sourceOf(cards.value, one.source);
    return caveat ? html` <span class="soft">(${caveat})</span>` : "";
  };
  const rows = [
    alloy.density && ["Density", html`${range(alloy.density, alloy.density.unit.replace("in3", "in³").replace("cm3", "cm³"))}${alloy.density.origin ? html` <span class="soft">${alloy.density.origin}</span>` : ""}${stands(alloy.density)}`],
    alloy.machinability && ["Machinability", html`${range(alloy.machinability, `where ${alloy.machinability.base}`)}${stands(alloy.machinability)}`],
    alloy.also?.length && ["Also called", alloy.also.join(", ")],
    ["Family", alloy.form ? `${alloy.family}, ${alloy.form}` : alloy.family],
  ].filter(Boolean);
  return html`<${Section} title="Figures"><${Facts} rows=${rows} /><//>`;
}

/** What a measured dust of it would hold. @param {{ id: string }} props */
function InDust({ id }) {
  const [text, setText] = useState("");
  const { value, error } = readNumber(text, { name: "Dust", optional: true, min: 0 });
  if (!matters(cards.value, id).length) return null;
  const metals = value === null || error ? [] : metalsIn(cards.value, id, value, authorities(), calendar.value.today);
  return html`<${Section} title="Its metals in measured dust"><${NumberField} label="Dust in the air, as measured" hint="An eight-hour average by a pump and filter, at work on this alloy." unit="mg/m³" value=${text} onValue=${setText} error=${text.trim() ? error : null} />
    <div role="status">${metals.length > 0 && html`<ul class="stack">${metals.map(({ symbol, said, over, why }) => html`<li key=${symbol}>${over ? html`<${StateMark} mark="late" word=${said} />` : html`<b>${said}</b>`}<p class="soft">${why}</p></li>`)}</ul>
      <p>Reckoned as if the dust were this alloy and nothing else. A sample of the metal itself counts before it; welding and grinding fume are not dust.</p>`}</div><//>`;
}

/** Whether the metal on the rack is the one on the card. @param {{ id: string }} props */
function Certificate({ id }) {
  const [text, setText] = useState("");
  const { lines, error } = readCertificate(text);
  const rows = besideCard(cards.value, id, lines);
  return html`<${Section} title="Mill certificate"><${TextField} label="What the certificate says" hint="Symbols and weight %: Cu 61.5, Pb 3.1, Be <0.01" value=${text} onValue=${setText} error=${text.trim() ? error : null} />
    <div role="status">${text.trim() && !error && (rows.length ? html`<ul class="stack">${rows.map(({ said, matters: weighs }) => html`<li key=${said}>${weighs ? html`<${StateMark} mark="late" word=${said} />` : said}</li>`)}</ul>
      <p>This card does not hold for it as it is: go by the certificate and the safety data sheet.</p>` : html`<p>Nothing on it lies outside of this card. What it does not name was not compared.</p>`)}</div>
    ${text.trim() && !error && html`<div class="row"><${ButtonLink} line href=${`#/setup/alloys/new?${new URLSearchParams({ like: id, says: text.trim() })}`}>Keep it as an alloy of the shop<//></div>`}<//>`;
}

/** Which certificate an alloy of the shop's own goes by. @param {{ id: string, alloy: any }} props */
const Certified = ({ id, alloy }) => html`<${Section} title="Mill certificate"><${From} of=${id} />
  ${alloy.retired ? html`<p>Out of use.</p>` : ""}<div class="row"><${ButtonLink} line href=${`#/setup/alloys/${id}`}>See it in Set-up<//></div><//>`;

/** @param {{ id: string }} props */
export default function AlloyCard({ id }) {
  const alloy = cards.value?.alloys[id];
  if (!alloy) return html`<${Page} title="Alloy" back="#/air/alloys"><${Empty}>This alloy has no card on this phone.<//><//>`;
  const found = matters(cards.value, id);
  const groups = groupsFor(cards.value, found.map(({ symbol }) => symbol), authorities(), calendar.value.today);
  const first = found.filter(({ said }) => !said.endsWith("base"));
  const foot = html`<${ButtonLink} big href=${`#/air/work?alloy=${encodeURIComponent(id)}`}>What the work asks<//>`;
  return html`<${Page} title=${alloy.name} back="#/air/alloys" aside=${html`<span class="num">${alloy.uns ?? (alloy.certificate ? `certificate ${alloy.certificate}` : id)}</span>`} foot=${foot}>
    <div class="part-grid"><div class="stack">
      ${first.length > 0 && html`<${Caution} signal="notice" hazard="lung" title=${first.map(({ said }) => said).join(", ")}
        text="What is asked depends on the work: choose it before you start." />`}
      <${Why} id=${id} /><${Behaviour} alloy=${alloy} /></div>
    <div class="stack"><${Composition} alloy=${alloy} /><${LimitGroups} groups=${groups} /><${InDust} id=${id} /><${Figures} alloy=${alloy} />${alloy.certificate ? html`<${Certified} id=${id} alloy=${alloy} />` : html`<${Certificate} id=${id} />`}</div></div><//>`;
}
