// The end of a round: what it comes to, said aloud, by whom and how long it took.
import { html } from "htm/preact";
import { Button, ButtonLink, Notice, StateMark, Tag, counted, sayLong } from "../../kit/index.js";
import { answerOf, endOf, sayMeasured } from "./run.js";

/** @typedef {import("./run.js").Run} Run */

/** "Mill 1 is fit to start". @param {string} machine @param {import("../../store/types.js").Definition} checklist @param {ReturnType<typeof endOf>} end */
export function sayEnd(machine, checklist, { outcome, reasons }) {
  if (outcome === "fit") return `${machine} is fit to start`;
  if (reasons.length) return `${machine} must not start: ${reasons[0]}`;
  return `${checklist.name}: done`;
}

/** What was out of order, check by check. @param {{ run: Run, checklist: import("../../store/types.js").Definition }} props */
function Rows({ run, checklist }) {
  const rows = checklist.checks.flatMap((/** @type {import("./run.js").Check} */ check) => {
    const answer = answerOf(run, check.id);
    if (answer.answer === "not ok") return [{ mark: answer.finding?.stop ? "stop" : "due", text: answer.finding?.text ?? check.text }];
    if (answer.verdict?.startsWith("act")) return [{ mark: "near", text: sayMeasured(check, answer) ?? check.text }];
    if (answer.answer === "n/a") return [{ mark: "resting", text: `${check.text}: not applicable` }];
    if (answer.answer === null) return [{ mark: "near", text: `${check.text}: not answered` }];
    return [];
  });
  if (!rows.length) return html`<p>All ${counted(checklist.checks.length, "check")} ok.</p>`;
  return html`<ul class="stack">${rows.map((/** @type {any} */ row) => html`<li key=${row.text}><${StateMark} mark=${row.mark} word=${row.text} /></li>`)}</ul>`;
}

/**
 * @param {{ run: Run, checklist: import("../../store/types.js").Definition, doc: import("../../core/fold.js").Doc,
 *   machine: import("../../store/types.js").Definition, who: string, problem: string | null,
 *   onFinish: () => Promise<void>, onBack: () => void }} props
 */
export function SummaryScreen({ run, checklist, doc, machine, who, problem, onFinish, onBack }) {
  const end = endOf(run, checklist, doc);
  const word = { fit: "Finish: fit to start", "not fit": "Finish: must not start", done: "Finish the round" }[end.outcome];
  const openFindings = Object.entries(doc.findings).filter(([, finding]) => finding.stop);
  return html`<div class="round-body">
      <h2>${sayEnd(machine.name, checklist, end)}</h2>
      ${end.reasons.length > 1 && html`<ul class="reasons">${end.reasons.slice(1).map((reason) => html`<li key=${reason}>${reason}</li>`)}</ul>`}
      <p class="how">Not in the record yet: ${who} finishes it with the button below.</p>
      <${Rows} run=${run} checklist=${checklist} />
      ${openFindings.map(([id, finding]) => html`<${Notice} key=${id} title="Open from before">${finding.text}. <a href=${`#/finding/${machine.id}/${id}`}>Close it, when it is put right</a><//>`)}
      ${problem && html`<p class="field-error" role="alert">${problem}</p>`}
    </div>
    <div class="round-foot"><div class="round-main"><${Button} big line onPress=${onBack}>Back<//><${Button} big onPress=${onFinish}>${word}<//></div></div>`;
}

/**
 * After it is in the record. `follow`: what the readings ask for next.
 * @param {{ said: string, fit: boolean, who: string, seconds: number, next: { name: string, href: string } | null,
 *   follow: { mark: import("../../kit/state.js").Mark, text: string, href?: string }[] }} props
 */
export function EndedScreen({ said, fit, who, seconds, next, follow }) {
  return html`<div class="round-body round-ended">
      <${StateMark} mark=${fit ? "fit" : "stop"} word=${fit ? "fit" : "stop"} size=${44} />
      <h2 role="status">${said}</h2>
      <p class="how">${who}, in ${sayLong(seconds)}. It is in the record.</p>
      ${follow.map((line) => html`<${Tag} key=${line.text} href=${line.href} title=${line.text} />`)}
    </div>
    <div class="round-foot"><div class="round-main"><${ButtonLink} big line href="#/today">Today<//>
      ${next ? html`<${ButtonLink} big href=${next.href}>Next: ${next.name}<//>` : html`<${ButtonLink} big href="#/shop">Shop<//>`}</div></div>`;
}
