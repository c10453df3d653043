// Rates of recordable cases, for those who must keep a log: counted by a person, worked out here, with what chance makes of them.
import { html } from "htm/preact";
import { Notice, NumberField, Page, Section, counted, figure, useForm } from "../../kit/index.js";
import { Age, kept } from "../ahead/kept.js";
import { useBegun } from "../keeping.js";
import { BLANK, FIELDS, readRates } from "./rates-read.js";
import { authorities } from "./shared.js";

/** @typedef {import("../../core/rates.js").Rate} Rate */

/** @param {{ name: string, rate: Rate, first?: boolean }} props */
function One({ name, rate, first }) {
  return html`<div class=${first ? "sum-first" : ""}><dt>${name}</dt><dd><span class="num">${figure(rate.rate, 1)}</span>
    <span class="soft">chance alone: ${figure(rate.low, 1)} to ${figure(rate.high, 1)}; with one more case ${figure(rate.one_more, 1)}</span></dd></div>`;
}

/** @param {{ found: NonNullable<ReturnType<typeof readRates>["found"]> }} props */
function Result({ found: { recordable, dart, away } }) {
  return html`<section class="sum-answer" aria-label="Result"><div role="status"><dl class="sum-figures">
      <${One} first name="All recordable cases, for 100 people in a year" rate=${recordable} />
      <${One} name="With days away, restricted work or another job (DART)" rate=${dart} />
      <${One} name="With days away" rate=${away} /></dl><p>${recordable.why}</p></div>
    <p><b>How sure:</b> of 100 ranges made this way 95 hold the rate behind the count, if cases come singly and by chance. A range so
      wide cannot tell a careful shop from a careless one, nor this year from the last: take three years together.</p>
    <p class="soft"><b>Source:</b> cases × 200 000 ÷ hours. ${recordable.source}. Three years together: Maryland's COMAR 09.12.24.08. That one case moves a small shop's rate far: OSHA's letter of 23 August 2016.</p></section>`;
}

/** What the record holds that somebody has to look at. */
function FromTheRecord() {
  const log = kept.value?.air?.log;
  return html`<${Section} title="From the record"><${Age} what="These counts" />
    ${log ? html`<p>In the last ${log.weeks} weeks: ${counted(log.first_aid, "hazard")} noted with first aid, ${counted(log.near_misses, "near miss", "near misses")}, ${counted(log.noted, "hazard")} noted in all. <a href="#/records?kind=hazard.noted">Look them through</a>.</p>`
      : html`<p class="soft">The counts come with the next sync.</p>`}
    <p><b>None of them counts of itself.</b> First aid alone is not recordable; a first-aid case from which more came is. Nothing in this app knows what a doctor did
      or how long somebody was off: whoever keeps the log decides each case, and is asked for reasons.</p><//>`;
}

/** 29 CFR 1904.7(a) in short. */
function Recordable() {
  return html`<${Section} title="What is recordable">
    <p>Work-related, new, and one of these:</p><ul class="bullets"><li>death, days away from work, restricted work or transfer to another job</li><li>medical treatment beyond first aid</li>
      <li>loss of consciousness</li><li>a significant injury or illness that a physician or other licensed health care professional diagnosed</li></ul>
    <p>Hearing loss, and removal from work under a substance's own standard such as lead, have sections of their own. Who had ten people or fewer in all of last year
      need not keep the log, unless asked to; a death, an amputation, the loss of an eye or a stay in hospital is reported by everybody.</p>
    <p class="soft"><b>Source:</b> 29 CFR 1904.7(a), seen at osha.gov; 1904.1, 1904.9, 1904.10, 1904.39: commonly cited, confirm.</p><//>`;
}

export default function RatesPage() {
  const form = useForm(BLANK);
  useBegun(form);
  const { found, errors } = readRates(form.values);
  return html`<${Page} title="Recordable rates" back="#/air"><p class="soft">For whoever must give them to an insurer, a customer or an inspector. Nothing here is put in the record; it works without signal.</p>
    ${!authorities().some((key) => key.startsWith("us_")) && html`<${Notice} title="By the rules of the United States">The law of your place may ask for other counts and other figures.<//>`}
    <div class="form-grid"><div class="form">${FIELDS.map(({ name, label, hint, unit, whole }) => html`<${NumberField} key=${name} label=${label} unit=${unit} whole=${whole}
        hint=${hint} ...${form.field(name)} error=${errors[name] ?? null} />`)}</div>
      <div class="side">${found ? html`<${Result} found=${found} />` : html`<p class="sum-wait">The rates stand here once there are cases and hours, of one year or of three together.</p>`}
</div></div>
    <div class="families"><${FromTheRecord} /><${Recordable} /></div><//>`;
}
