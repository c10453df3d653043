// What to measure where nobody has: the samples, how many, how long to draw, and the controls that stand whatever is found.
import { html } from "htm/preact";
import { ButtonLink, Empty, Notice, NumberField, Page, Section, StateMark, useForm } from "../../kit/index.js";
import { milligrams } from "../../core/limits.js";
import { cards, definitions, state } from "../../store/index.js";
import { useBegun } from "../keeping.js";
import { calendar } from "../world.js";
import { Controls } from "./demands.js";
import { PLAN_BLANK, askedOf, planOf } from "./measure-plan.js";
import { NoCards, authorities, lately } from "./shared.js";
import { alloyName, demandsOf, matters, sourceOf, usualWork } from "./work.js";

const SIGNALS = ["danger", "warning", "caution", "notice"];

/** The lower the more pressing. @param {import("../../core/hazards.js").Demands} demands */
const rankOf = ({ stops, cautions }) => (stops.length ? -1 : SIGNALS.indexOf(cautions[0]?.signal ?? "notice"));

/** The work of these days that puts a substance in the air, the most pressing by the rules. @param {string} substance */
function workWith(substance) {
  const library = cards.value;
  const found = lately(30).filter(({ alloy }) => matters(library, alloy).some(({ symbol }) => library.elements[symbol]?.substance === substance))
    .flatMap(({ alloy, machines }) => machines.flatMap((id) => definitions.value.byId.get(id) ?? []).map((machine) => ({ machine, alloy })))
    .flatMap((one) => {
      const demands = demandsOf(library, { process: usualWork(one.machine)[0] ?? "", alloy: one.alloy });
      return demands?.rules.length ? [{ ...one, demands }] : [];
    });
  return found.sort((a, b) => rankOf(a.demands) - rankOf(b.demands))[0] ?? null;
}

/** @param {{ substance: string }} props */
function Meanwhile({ substance }) {
  const work = workWith(substance);
  if (!work) return null;
  return html`<${Section} title="Meanwhile, whatever is found"><p>${work.machine.name}, ${alloyName(cards.value, work.alloy)}:</p><${Controls} demands=${work.demands} /><//>`;
}

/** How many samples make a picture, by the European standard. */
function HowMany() {
  return html`<${Section} title="How many"><p>At least three samples worn by people who do the same work, on different days, the worst day among them; six for a test by statistics. One sample shows one day.</p>
    <p>Worn in the breathing zone. For a limit of 8 hours as near to the whole shift as can be, at least two hours where the work stays the same; for a short-term limit fifteen minutes.</p>
    <p class="soft"><b>Source:</b> EN 689:2018, by its abstract in Occup. Environ. Med. 75 (2018) A199 and excerpts in print; commonly cited, confirm.</p><//>`;
}

/** @param {{ asked: import("./measure-plan.js").Asked[] }} props */
function HowLong({ asked }) {
  const form = useForm(PLAN_BLANK);
  useBegun(form);
  const limits = [...new Map(asked.flatMap((one) => one.limits).map((limit) => [`${milligrams(limit)} ${limit.kind} ${limit.minutes}`, limit])).values()];
  const { lines, errors } = planOf(form.values, limits);
  return html`<${Section} title="How long to draw"><p>A result below what the laboratory can find says something only when enough air was drawn: so much that a tenth of the limit would have been found.</p>
    <div class="pair"><${NumberField} label="Reporting limit" unit="µg" ...${form.field("detection")} error=${errors.detection ?? null} />
      <${NumberField} label="Flow of the pump" unit="L/min" ...${form.field("flow")} error=${errors.flow ?? null} /></div>
    <div role="status">${lines.length ? html`<ul class="lines sum-rows">${lines.map(({ lead, said, fits }) => html`<li key=${lead}><div class="sign-head"><b>${lead}</b>
        <${StateMark} mark=${fits ? "resting" : "due"} word=${fits ? "enough time" : "too coarse"} /></div><p>${said}</p></li>`)}</ul>`
      : html`<p class="sum-wait">Ask the laboratory what the least is that it reports, and in which unit: the minutes stand here then.</p>`}</div>
    <p class="soft"><b>Source:</b> mass ÷ (a tenth of the limit × flow). OSHA's methods for metals (ID-125G) draw 2 L/min for 240 to 480 min, 480 to 960 L; respirable dust through a nylon cyclone at 1.7 L/min, 816 L: osha.gov/chemicaldata/206 and /496, seen 2026-11.</p><//>`;
}

/** @param {{ asked: import("./measure-plan.js").Asked[] }} props */
function Samples({ asked }) {
  return html`${asked.map(({ form, what, limits, own, measure }) => html`<${Section} key=${form} title=${asked.length > 1 ? `Samples: ${what.toLowerCase()}` : "Samples"}>
    <ol class="steps">${measure.map((line) => html`<li key=${line}>${line}</li>`)}</ol>
    ${!own && html`<p>The shop goes by no limit for this: asked by the strictest in the library.</p>`}
    <details class="more"><summary><b>Where the limits are from</b></summary><ul>${[...new Set(limits.map(({ source }) => source))].map((key) => sourceOf(cards.value, key)).map(({ text, caveat }) => html`<li key=${text} class="soft">${text}${caveat && html` <b>(${caveat})</b>`}</li>`)}</ul></details><//>`)}`;
}

/** What the shop's authorities say of noise; all of them where it chose none. */
function NoiseLimits() {
  const all = cards.value.noise ?? [];
  const own = all.filter((/** @type {any} */ { authority }) => authorities().includes(authority));
  const shown = own.length ? own : all;
  if (!shown.length) return null;
  return html`<${Section} title="Values in print"><ul class="lines">${shown.map((/** @type {import("../../core/measured.js").NoiseValue} */ value) => {
    const who = cards.value.authorities[value.authority];
    const { text, caveat } = sourceOf(cards.value, value.source);
    const how = value.by === "energy" ? "daily exposure by energy" : `dose of ${value.by} exchange, counted from ${value.counted_from} dBA`;
    return html`<li class="standing" key=${value.authority + value.name}><div class="limit-head"><b class="num">${value.level} ${value.by === "energy" ? "dB(A)" : "dBA"}</b><span>over 8 hours: ${value.name}</span></div>
      <p>${who?.name ?? value.authority} (${who?.place}); ${how}${value.peak ? `; peak ${value.peak} ${value.by === "energy" ? "dB(C)" : "dB"}` : ""}${value.worn ? "; protectors are counted" : ""}${value.note ? `. ${value.note}` : "."}</p>
      <p class="soft">Source: ${text}${caveat && html` <b>(${caveat})</b>`}</p></li>`;
  })}</ul><//>`;
}

function Noise() {
  return html`<${Section} title="Samples"><ol class="steps"><li>A dosimeter on the shoulder of whoever works there, for the whole shift; or a meter at the ear at each job, and how long it lasts.</li>
      <li>For OSHA's figures set to A and slow, 5 dB exchange, once counted from 80 and once from 90 dBA; for NIOSH's, Britain's and the EU's 3 dB, as LAeq.</li>
      <li>Where something bangs, the peak in dB(C) too.</li><li>Checked with its calibrator before and after.</li></ol>
    <p class="soft"><b>Source:</b> 29 CFR 1910.95(d)(2), from 80 to 130 dBA, from memory: confirm; NIOSH publication 98-126; Control of Noise at Work Regulations 2005. A dosimeter on the shoulder is common practice, no source.</p>
    <p>Until then: where you must raise your voice at an arm's length, protectors are worn.</p><${ButtonLink} line href="#/sums/noise">From levels and minutes to a dose<//><//>`;
}

/** @param {{ id: string }} props `id`: a substance of the library, or noise */
export default function Measure({ id }) {
  const library = cards.value;
  const noise = id === "noise";
  const name = noise ? "Noise" : library?.substances[id]?.name;
  const had = Object.keys(state.value.shop.exposures ?? {}).some((key) => key.split("/")[0] === id);
  const foot = html`<${ButtonLink} big href="#/air/log/exposure">Log a measurement<//>`;
  if (!library) return html`<${Page} title="What to measure" back="#/air/exposures"><${NoCards} /><//>`;
  if (!name) return html`<${Page} title="What to measure" back="#/air/exposures"><${Empty}>The library has no limit for this: ask a hygienist.<//><//>`;
  const asked = noise ? [] : askedOf(library, id, authorities(), calendar.value.today);
  return html`<${Page} title=${`What to measure: ${name}`} back="#/air/exposures" foot=${foot}>
    ${!had && html`<${Notice} title="Nobody measured it here yet">So nothing is said of how much is in the air or at the ear. A hygienist, an insurer's adviser or a laboratory that lends samplers does it.<//>`}
    <div class="part-grid"><div class="stack">${noise ? html`<${Noise} />` : html`<${Samples} asked=${asked} /><${HowMany} />`}</div>
      <div class="stack">${noise ? html`<${NoiseLimits} />` : html`<${HowLong} asked=${asked} />`}<${Meanwhile} substance=${id} /></div></div><//>`;
}
