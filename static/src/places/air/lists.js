// The alloys and media that have cards, to be found by name, number or what is in them.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Empty, Page, Section, TextField, capital } from "../../kit/index.js";
import { cards } from "../../store/index.js";
import { NoCards, lately } from "./shared.js";
import { matters } from "./work.js";

/** Whether an alloy answers to what was typed. @param {string} key @param {any} alloy @param {string} sought */
function answers(key, alloy, sought) {
  const inside = matters(cards.value, key).map(({ name }) => name);
  return [key, alloy.name, alloy.family, ...(alloy.also ?? []), ...inside].join(" ").toLowerCase().includes(sought);
}

/** @param {{ id: string }} props */
function AlloyLine({ id }) {
  const alloy = cards.value.alloys[id];
  const inside = matters(cards.value, id).filter(({ said }) => !said.endsWith("base"));
  return html`<li><a href=${`#/air/alloy/${encodeURIComponent(id)}`}><b>${alloy.name}</b><span class="num">${alloy.uns ?? (alloy.certificate ? `certificate ${alloy.certificate}` : id)}</span>
    <span class="soft">${inside.map(({ said }) => said).join(", ")}</span></a></li>`;
}

export function Alloys() {
  const [sought, setSought] = useState("");
  if (!cards.value) return html`<${Page} title="Alloys" back="#/air"><${NoCards} /><//>`;
  const wanted = sought.trim().toLowerCase();
  const found = Object.keys(cards.value.alloys).filter((key) => !cards.value.alloys[key].retired && answers(key, cards.value.alloys[key], wanted));
  const recent = wanted ? [] : lately(30).map(({ alloy }) => alloy);
  const own = found.filter((key) => cards.value.alloys[key].certificate);
  const families = [...new Set(found.filter((key) => !own.includes(key)).map((key) => cards.value.alloys[key].family))];
  return html`<${Page} title="Alloys" back="#/air"><${TextField} label="Find" hint="A name, a UNS number, or what is in it: lead" value=${sought} onValue=${setSought} />
    ${!found.length && html`<${Empty}>No card answers to that. Ask the supplier which alloy it is before you make dust of it.<//>`}
    ${recent.length > 0 && html`<${Section} title="Run here lately"><ul class="lines alloy-lines">${recent.map((key) => html`<${AlloyLine} key=${key} id=${key} />`)}</ul><//>`}
    ${own.length > 0 && html`<${Section} title="The shop's own"><ul class="lines alloy-lines">${own.map((key) => html`<${AlloyLine} key=${key} id=${key} />`)}</ul><//>`}
    <div class="families">${families.map((family) => html`<${Section} key=${family} title=${capital(family)}><ul class="lines alloy-lines">${found.filter((key) => !own.includes(key) && cards.value.alloys[key].family === family)
      .map((key) => html`<${AlloyLine} key=${key} id=${key} />`)}</ul><//>`)}</div><//>`;
}

export function Media() {
  if (!cards.value) return html`<${Page} title="Blasting media" back="#/air"><${NoCards} /><//>`;
  return html`<${Page} title="Blasting media" back="#/air"><ul class="lines alloy-lines">${Object.entries(cards.value.media).map(([key, one]) => html`<li key=${key}>
    <a href=${`#/air/medium/${key}`}><b>${one.name}${one.refused ? ": refused" : ""}</b><span class="soft">Free silica: ${one.silica?.text ?? "not stated"}</span></a></li>`)}</ul><//>`;
}
