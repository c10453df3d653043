// The risk of a task by the matrix of MIL-STD-882E, before and after controls: the fields, and what comes of them.
import { html } from "htm/preact";
import { DateField, SelectField, StateMark, TextField, TickField } from "../../../kit/index.js";
import { TIERS } from "../../../core/hazards.js";
import { MATRIX, PROBABILITIES, SEVERITIES, cell, estimate } from "../../../core/risk.js";
import { faultOf } from "../../log/shared.js";
import { calendar } from "../../world.js";
import { PersonField } from "./frame.js";

export const RISK_BLANK = { risk: false, severity: "", probability: "", controlled: false, after_severity: "", after_probability: "", tier: "", measure: "", agreed_by: "", review_on: "" };

const SEVERITY_OPTIONS = Object.entries(SEVERITIES).map(([value, [name, what]]) => ({ value, text: `${name}: ${what}` }));
const PROBABILITY_OPTIONS = Object.entries(PROBABILITIES).map(([value, [name, what]]) => ({ value, text: `${name}: ${what}` }));
const TIER_NAMES = /** @type {Record<string, string>} */ ({ eliminate: "It is taken away", substitute: "Something less harmful is used", enclose: "It is enclosed or exhausted", administer: "A rule, an order of work", protect: "Something is worn" });
/** Levels by how pressing they are. @type {Record<string, import("../../../kit/state.js").Mark>} */
const LEVEL_MARKS = { High: "stop", Serious: "late", Medium: "due", Low: "resting", Eliminated: "fit" };
/** Which field a problem of the core belongs to. @type {Record<string, string>} */
const FIELD_OF = { severity: "severity", probability: "probability", before: "severity", after: "after_probability", controls: "measure" };

/** @param {Record<string, any>} values */
const cellsGiven = (values) => ({ before: values.severity && values.probability, after: values.controlled && values.after_severity && values.after_probability });

/**
 * The risk for the entry's body, the errors of its fields, and what it says.
 * @param {Record<string, any>} values @param {string} today
 * @returns {{ risk: any, errors: Record<string, string | null>, said: string[], before: string | null, after: string | null, review: string }}
 */
export function riskOf(values, today) {
  const none = { risk: null, errors: {}, said: [], before: null, after: null, review: "" };
  if (!values.risk) return none;
  const given = cellsGiven(values);
  /** @type {Record<string, string | null>} */
  const errors = {
    severity: values.severity ? null : "Severity is not chosen. Take the worst that can credibly happen.",
    probability: values.probability ? null : "Probability is not chosen. Say how likely it is as the work is done now.",
    agreed_by: values.agreed_by ? null : "Nobody is named. Name who agreed to the estimate.",
    ...(values.controlled ? { after_severity: values.after_severity ? null : "Severity after controls is not chosen.", after_probability: values.after_probability ? null : "Probability after controls is not chosen.",
      tier: values.tier ? null : "What was done is not chosen: the controls are what the second estimate rests on.", measure: values.measure.trim() ? null : "The control is empty. Write what was done." } : {}),
  };
  if (!given.before) return { ...none, errors };
  const before = cell(Number(values.severity), values.probability);
  const same = /** @type {[number, string]} */ ([Number(values.severity), values.probability]);
  const second = given.after ? /** @type {[number, string]} */ ([Number(values.after_severity), values.after_probability]) : same;
  try {
    const controls = values.controlled && values.tier ? { [values.tier]: [values.measure.trim()] } : {};
    const found = estimate(same, second, controls, today);
    const review = values.review_on || found.review;
    const body = { before: { severity: same[0], probability: same[1] }, ...(given.after ? { after: { severity: second[0], probability: second[1] } } : {}), agreed_by: values.agreed_by, review_on: review };
    return { risk: body, errors, said: found.said, before: `${before.level} (${before.code})`, after: given.after ? `${found.after.level} (${found.after.code})` : null, review };
  } catch (error) {
    const fault = faultOf(error, { after: "The estimate after controls", controls: "Controls" });
    return { ...none, errors: { ...errors, [FIELD_OF[fault.field] ?? "after_probability"]: fault.text }, before: `${before.level} (${before.code})` };
  }
}

/** The matrix, with the cells that are chosen marked. @param {{ before: string | null, after: string | null }} props */
function Matrix({ before, after }) {
  const code = (/** @type {string | null} */ said) => said?.match(/\((\w+)\)/)?.[1];
  const [from, to] = [code(before), code(after)];
  return html`<div class="chart-scroll"><table class="matrix"><caption class="away">Risk by probability and severity</caption><thead><tr><th scope="col">Probability</th>
    ${Object.entries(SEVERITIES).map(([key, [name]]) => html`<th scope="col" key=${key}>${key} ${name}</th>`)}</tr></thead>
    <tbody>${Object.entries(MATRIX).map(([letter, levels]) => html`<tr key=${letter}><th scope="row">${letter} ${PROBABILITIES[letter][0]}</th>
      ${levels.map((level, at) => {
        const here = `${at + 1}${letter}`;
        const mark = here === to ? "after" : here === from ? "before" : "";
        return html`<td key=${here} class=${mark ? "matrix-here" : ""}>${level}${mark && html`<b>${mark}</b>`}</td>`;
      })}</tr>`)}</tbody></table></div>`;
}

/** @param {{ form: any }} props */
export function RiskFields({ form }) {
  const { values } = form;
  const { before, after, review, said } = riskOf(values, calendar.value.today);
  const level = (/** @type {string | null} */ text) => (text ? html`<${StateMark} mark=${LEVEL_MARKS[text.split(" ")[0]] ?? "near"} word=${text} />` : "not estimated");
  return html`<${TickField} label="Estimate the risk" hint="Severity times probability, before and after controls (MIL-STD-882E)" ...${form.tick("risk")} />
    ${values.risk && html`<fieldset class="conditions"><legend>Risk as the work is done now</legend>
      <${SelectField} label="Severity" blank="Choose" options=${SEVERITY_OPTIONS} ...${form.field("severity")} />
      <${SelectField} label="Probability" blank="Choose" options=${PROBABILITY_OPTIONS} ...${form.field("probability")} />
      <p>Before controls: ${level(before)}</p>
      <${TickField} label="Controls were put in" hint="Then it is estimated once more" ...${form.tick("controlled")} />
      ${values.controlled && html`<${SelectField} label="What was done" blank="Choose" options=${TIERS.map((value) => ({ value, text: TIER_NAMES[value] }))} ...${form.field("tier")} />
        <${TextField} label="The control" maxLength=${120} ...${form.field("measure")} />
        <${SelectField} label="Severity after controls" blank="Choose" options=${SEVERITY_OPTIONS} ...${form.field("after_severity")} />
        <${SelectField} label="Probability after controls" blank="Choose" options=${PROBABILITY_OPTIONS} ...${form.field("after_probability")} />
        <p>After controls: ${level(after)}</p>`}
      ${said.length > 0 && html`<ul class="stack">${said.map((line) => html`<li key=${line}>${line}</li>`)}</ul>`}
      <${PersonField} form=${form} name="agreed_by" label="Agreed by" />
      <${DateField} label="To be reviewed on" min=${calendar.value.today} ...${form.field("review_on")} value=${values.review_on || review} />
      <${Matrix} before=${before} after=${after} /></fieldset>`}`;
}
