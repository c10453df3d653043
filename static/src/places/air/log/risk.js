// The risk of a task by the matrix of MIL-STD-882E, before and after controls: the fields, and what comes of them.
import { html } from "htm/preact";
import { DateField, SelectField, StateMark, TextField, TickField } from "../../../kit/index.js";
import { TIERS } from "../../../core/hazards.js";
import { MATRIX, PROBABILITIES, SEVERITIES } from "../../../core/risk.js";
import { calendar } from "../../world.js";
import { PersonField } from "./frame.js";
import { riskOf } from "./risk-of.js";

const SEVERITY_OPTIONS = Object.entries(SEVERITIES).map(([value, [name, what]]) => ({ value, text: `${value} ${name}: ${what}` }));
const PROBABILITY_OPTIONS = Object.entries(PROBABILITIES).map(([value, [name, what]]) => ({ value, text: `${value} ${name}: ${what}` }));
const TIER_NAMES = /** @type {Record<string, string>} */ ({ eliminate: "It is taken away", substitute: "Something less harmful is used", enclose: "It is enclosed or exhausted", administer: "A rule, an order of work", protect: "Something is worn" });
/** Levels by how pressing they are. @type {Record<string, import("../../../kit/state.js").Mark>} */
const LEVEL_MARKS = { High: "stop", Serious: "late", Medium: "due", Low: "resting", Eliminated: "fit" };
/** The matrix, with the cells that are chosen marked. @param {{ before: string | null, after: string | null }} props */
function Matrix({ before, after }) {
  const code = (/** @type {string | null} */ said) => said?.match(/\((\w+)\)/)?.[1];
  const [from, to] = [code(before), code(after)];
  return html`<table class="matrix"><caption>Risk by probability (down) and severity (across)</caption><thead><tr><td></td>
    ${Object.entries(SEVERITIES).map(([key, [name]]) => html`<th scope="col" key=${key}>${key}<span class="away"> ${name}</span></th>`)}</tr></thead>
    <tbody>${Object.entries(MATRIX).filter(([letter]) => letter !== "F").map(([letter, levels]) => html`<tr key=${letter}><th scope="row">${letter}<span class="away"> ${PROBABILITIES[letter][0]}</span></th>
      ${levels.map((level, at) => {
        const here = `${at + 1}${letter}`;
        const mark = here === to ? "after" : here === from ? "before" : "";
        return html`<td key=${here} class=${mark ? "matrix-here" : ""}>${level}${mark && html`<b>${mark}</b>`}</td>`;
      })}</tr>`)}<tr><th scope="row">F</th><td colspan="4" class=${to?.endsWith("F") ? "matrix-here" : ""}>Eliminated: the hazard is gone${to?.endsWith("F") && html`<b>after</b>`}</td></tr></tbody></table>`;
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
