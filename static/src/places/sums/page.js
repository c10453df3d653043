// One bench sum: its fields, and what comes of them as they are typed.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, Cautions, ChoiceField, NumberField, Page, SelectField, StateMark, TextField, figure, useForm } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { useBegun } from "../keeping.js";
import { evaluate, inOtherUnits, sayInputs, unitOf, valueOf } from "./sum.js";

/** @typedef {import("./sum.js").Sum} Sum @typedef {import("./sum.js").Field} Field @typedef {import("./sum.js").Answer} Answer */
/** @typedef {{ set: (some: Record<string, string>) => void, values: Record<string, string> }} Form */

const MARKS = /** @type {const} */ ({ within: "resting", look: "due", stop: "stop" });
const UNITS = [{ value: "us", text: "US", note: "in, gal, psi" }, { value: "metric", text: "Metric", note: "mm, L, bar" }];
/** Where a running watch was started, in ms; kept with what is typed, so that a reload does not stop it. @param {string} name */
const watchOf = (name) => `${name}_from`;

/** A stopwatch that fills in the seconds. @param {{ name: string, form: Form }} props */
function Watch({ name, form }) {
  const from = Number(form.values[watchOf(name)] ?? 0);
  const [now, setNow] = useState(() => Date.now());
  useEffect(() => {
    if (!from) return undefined;
    const ticking = setInterval(() => setNow(Date.now()), 100);
    return () => clearInterval(ticking);
  }, [from]);
  const seconds = () => String(Math.max(0, Math.round((Date.now() - from) / 100) / 10));
  if (!from) return html`<${Button} line onPress=${() => form.set({ [watchOf(name)]: String(Date.now()) })}>Start the watch<//>`;
  return html`<${Button} onPress=${() => form.set({ [name]: seconds(), [watchOf(name)]: "" })}>Stop the watch <span class="num watch">${(Math.max(0, now - from) / 1000).toFixed(1)} s</span><//>`;
}

/** @param {{ field: Field, us: boolean, form: Form, error: string | null }} props */
function Input({ field, us, form, error }) {
  const { name, label, kind = "number", hint, optional, whole, options } = field;
  const shared = { label, hint, optional, error, value: valueOf(field, form.values), onValue: (/** @type {string} */ value) => form.set({ [name]: value }) };
  if (kind === "choice") return html`<${ChoiceField} ...${shared} options=${options} />`;
  if (kind === "select") return html`<${SelectField} ...${shared} options=${options} />`;
  if (kind === "text") return html`<${TextField} ...${shared} />`;
  const input = html`<${NumberField} ...${shared} whole=${whole} unit=${unitOf(field, us)} />`;
  return kind === "seconds" ? html`<div class="stack">${input}<${Watch} name=${name} form=${form} /></div>` : input;
}

/** @param {{ answer: Answer }} props */
function Figures({ answer: { figures } }) {
  return html`<dl class="sum-figures">${figures.map(({ name, value, unit, places = 2, verdict, word }, index) => html`<div key=${name} class=${index ? "" : "sum-first"}>
    <dt>${name}</dt><dd><span class="num">${typeof value === "string" ? value : figure(value, places)}</span> ${unit}${verdict && html`<${StateMark} mark=${MARKS[verdict]} word=${word} />`}</dd></div>`)}</dl>`;
}

/** Rows of what is in print, each with its source: too wordy for columns on a phone. @param {{ list: NonNullable<Answer["lists"]>[number] }} props */
function Printed({ list: { name, rows } }) {
  return html`<h2 class="section-head"><span>${name}</span></h2><ul class="lines sum-rows">${rows.map(({ lead, mark, word, notes, source }, index) => html`<li key=${index}>
    <div class="sign-head"><b class="num">${lead}</b>${mark && html`<${StateMark} mark=${MARKS[mark]} word=${word} />`}</div>
    ${notes.map((note) => html`<p key=${note}>${note}</p>`)}<p class="soft">${source}</p></li>`)}</ul>`;
}

/** @param {{ sum: Sum, answer: Answer, inputs: string }} props */
function Result({ sum, answer, inputs }) {
  return html`<section class="sum-answer" aria-label="Result"><div role="status"><${Figures} answer=${answer} />
      ${(answer.said ?? []).map((line) => html`<p key=${line}>${line}</p>`)}</div>
    <${Cautions} keys=${answer.cautions ?? []} />
    ${(answer.lists ?? []).map((list) => html`<${Printed} key=${list.name} list=${list} />`)}
    <p class="soft">${inputs}</p><p><b>How sure:</b> ${answer.sure}</p>
    <p class="soft"><b>Source:</b> ${[...new Set(answer.sources)].join("; ").replace(/\.$/, "")}.</p>
    ${sum.cautions.length > 0 && html`<h2 class="section-head"><span>Before the work</span></h2>`}</section>`;
}

/** @param {{ sum: Sum, back: string, begin: Record<string, string> }} props `begin`: what is taken over from the record, until it is typed over */
export function SumPage({ sum, back, begin }) {
  const form = useForm(/** @type {Record<string, string>} */ ({ units: definitions.value.shop?.units ?? "us" }));
  useBegun(form);
  const values = { ...begin, ...form.values };
  const units = values.units === "metric" ? "metric" : "us";
  const us = units === "us";
  const { answer, errors, problem, missing } = evaluate(sum, values, units);
  const change = (/** @type {string} */ to) => form.set({ ...inOtherUnits(sum, values, to === "us"), units: to });
  const fields = sum.fields(values, us);
  const measured = fields.some(({ unit }) => Array.isArray(unit));
  return html`<${Page} title=${sum.title} back=${back}><p class="soft">${sum.meant}</p><div class="form-grid"><div class="form">
      ${measured && html`<${ChoiceField} label="Units" options=${UNITS} value=${units} onValue=${change} />`}
      ${fields.map((field) => html`<${Input} key=${field.name} field=${field} us=${us} form=${{ ...form, values }} error=${errors[field.name] ?? null} />`)}
    </div><div class="side">
      ${problem && html`<p class="field-error" role="alert">${problem}</p>`}
      ${answer ? html`<${Result} sum=${sum} answer=${answer} inputs=${sayInputs(sum, values, us)} />`
        : missing.length > 0 && html`<p class="sum-wait">The result stands here once there is: ${missing.join(", ").toLowerCase()}.</p>`}
      <${Cautions} keys=${sum.cautions} /></div></div><//>`;
}
