// One run through a checklist: its answers, how it ends, and the entries it leaves. Pure; the screens only show it.
import { tidy } from "../../core/numbers.js";
import { capital } from "../../kit/dates.js";
import { figure, readNumber } from "../../kit/numbers.js";
import { judgeReading } from "../readings.js";

/**
 * @typedef {import("../../store/types.js").Definition} Definition
 * @typedef {import("../../core/fold.js").Doc} Doc
 * @typedef {{ id: string, text: string, answer: "ok" | "reading" | "choice", stop?: boolean, how?: string, why?: string,
 *   source?: string, caution?: string | null, quantity?: string | null, unit?: string | null, factor?: number | null,
 *   band?: import("../../kit/band.js").Band | null, choices?: { text: string, ok: boolean }[], photo?: boolean }} Check
 * @typedef {{ text: string, stop: boolean, tag: boolean, raise: boolean }} Finding
 * @typedef {object} Answer
 * @property {"ok" | "not ok" | "n/a" | null} answer null until it is given
 * @property {string} [typed] what stands in the reading's field
 * @property {number} [value] in the check's unit
 * @property {string} [verdict]
 * @property {string} [choice]
 * @property {string} [note]
 * @property {string | null} [photo]
 * @property {Finding} [finding]
 * @typedef {object} Run
 * @property {string} checklist
 * @property {number} revision
 * @property {string} started_at
 * @property {number} index which check is shown
 * @property {"checks" | "finding" | "summary"} phase
 * @property {Record<string, Answer>} answers by check
 */

/** @param {Definition} checklist @param {Date} now @returns {Run} */
export function newRun(checklist, now) {
  return { checklist: checklist.id, revision: checklist.revision, started_at: now.toISOString(), index: 0, phase: "checks", answers: {} };
}

/** @param {Run} run @param {string} check @returns {Answer} */
export const answerOf = (run, check) => run.answers[check] ?? { answer: null };

/** @param {Run} run @param {string} check @param {Partial<Answer>} some @returns {Run} */
export function withAnswer(run, check, some) {
  return { ...run, answers: { ...run.answers, [check]: { ...answerOf(run, check), ...some } } };
}

/**
 * A typed reading: the value in the check's unit and its verdict, or what is wrong with it.
 * @param {Check} check @param {string} typed
 */
export function readingOf(check, typed) {
  const { value: raw, error } = readNumber(typed, { name: "The reading" });
  if (raw === null) return { value: null, error, judged: null };
  const value = check.factor && check.factor !== 1 ? tidy(raw * check.factor, 3) : raw;
  return { value, error: null, judged: check.band ? judgeReading(check.band, value) : null };
}

/** Whether it stops the machine: the check says so, or the reading is beyond a stop limit. @param {Check} check @param {Answer} answer */
export const isStop = (check, answer) => Boolean(check.stop) || (answer.verdict ?? "").startsWith("stop");

/** To the next check, or to the summary after the last. @param {Run} run @param {number} count @returns {Run} */
export function onward(run, count) {
  const next = run.index + 1;
  return next < count ? { ...run, index: next, phase: "checks" } : { ...run, phase: "summary" };
}

/** One step back. @param {Run} run @returns {Run} */
export function backward(run) {
  if (run.phase !== "checks") return { ...run, phase: "checks" };
  return { ...run, index: Math.max(0, run.index - 1) };
}

/** What a finding says before somebody edits it. @param {Check} check @param {Answer} answer @returns {Finding} */
export function firstFinding(check, answer) {
  const stop = isStop(check, answer);
  const text = answer.choice ? `${check.text}: ${answer.choice}` : sayMeasured(check, answer) ?? `Not ok: ${check.text}`;
  return { text, stop, tag: stop, raise: true };
}

/** "Air pressure 62 psi, below the stop limit". @param {Check} check @param {Answer} answer */
export function sayMeasured(check, answer) {
  if (answer.value === undefined) return null;
  const what = capital((check.quantity ?? check.text).replace(/[._]/g, " "));
  const judged = check.band ? judgeReading(check.band, answer.value) : null;
  return `${what} ${figure(answer.value, 3)} ${check.unit ?? ""}`.trimEnd() + (judged && !judged.inside ? `, ${judged.word}` : "");
}

/** @param {Run} run @param {Check[]} checks */
function failedStops(run, checks) {
  return checks.filter((check) => {
    const answer = answerOf(run, check.id);
    return answer.answer === "not ok" && (isStop(check, answer) || answer.finding?.stop);
  });
}

/**
 * How the round ends. Fit only when every check was answered, no stop was found, no stop finding is open and no tag is on.
 * @param {Run} run @param {Definition} checklist @param {Doc} doc
 * @returns {{ outcome: "fit" | "not fit" | "done", reasons: string[], open: number }} reasons why the machine must not start
 */
export function endOf(run, checklist, doc) {
  const checks = /** @type {Check[]} */ (checklist.checks);
  const open = checks.filter((check) => answerOf(run, check.id).answer === null).length;
  const reasons = [
    ...failedStops(run, checks).map((check) => answerOf(run, check.id).finding?.text ?? check.text),
    ...checks.filter((check) => answerOf(run, check.id).finding?.tag && !isStopped(run, check)).map((check) => `tagged: ${answerOf(run, check.id).finding?.text}`),
    ...Object.values(doc.tags).map((tag) => `tagged: ${tag.why}`),
    ...Object.values(doc.findings).filter((finding) => finding.stop).map((finding) => `open finding: ${finding.text}`),
    ...(open && checklist.form === "start-up" ? [`${open} of ${checks.length} checks not answered`] : []),
  ];
  if (checklist.form !== "start-up") return { outcome: "done", reasons, open };
  return { outcome: reasons.length ? "not fit" : "fit", reasons, open };
}

/** @param {Run} run @param {Check} check */
const isStopped = (run, check) => isStop(check, answerOf(run, check.id)) || answerOf(run, check.id).finding?.stop;

/** A check as the record keeps it. @param {Check} check @param {Answer} answer */
function kept(check, answer) {
  const value = answer.value === undefined ? {} : { value: answer.value, unit: check.unit ?? "" };
  return {
    check: check.id, answer: answer.answer, stop: isStop(check, answer), ...value,
    ...(check.quantity ? { quantity: check.quantity } : {}),
    ...(answer.verdict ? { verdict: answer.verdict } : {}),
    ...(answer.choice ? { choice: answer.choice } : {}),
    ...(answer.note?.trim() ? { note: answer.note.trim() } : {}),
    ...(answer.photo ? { photo: answer.photo } : {}),
  };
}

/**
 * Everything that a finished round puts in the record, in one go: the round, and for each failed check its finding,
 * its tag and its corrective task.
 * @param {{ run: Run, checklist: Definition, doc: Doc, machine: string, seconds: number, newId: () => string }} from
 */
export function entriesOf({ run, checklist, doc, machine, seconds, newId }) {
  const checks = /** @type {Check[]} */ (checklist.checks).filter((check) => answerOf(run, check.id).answer !== null);
  const round = newId();
  const { outcome } = endOf(run, checklist, doc);
  const body = {
    checklist: checklist.id, revision: run.revision, form: checklist.form, started_at: run.started_at,
    seconds: Math.round(seconds), outcome, checks: checks.map((check) => kept(check, answerOf(run, check.id))),
  };
  const findings = checks.flatMap((check) => findingEntries(check, answerOf(run, check.id), round, machine, newId));
  return [{ id: round, kind: "round.done", machine, body }, ...findings];
}

/** @param {Check} check @param {Answer} answer @param {string} round @param {string} machine @param {() => string} newId */
function findingEntries(check, answer, round, machine, newId) {
  const found = answer.answer === "not ok" ? answer.finding : null;
  if (!found) return [];
  const id = newId();
  const text = found.text.trim();
  const opened = { text, stop: found.stop || isStop(check, answer), check: check.id, round, ...(answer.photo ? { photo: answer.photo } : {}) };
  return [
    { id, kind: "finding.opened", machine, body: opened },
    ...(found.tag ? [{ id: newId(), kind: "tag.on", machine, body: { why: text, finding: id } }] : []),
    ...(found.raise ? [{ id: newId(), kind: "task.raised", machine, body: { title: `Put right: ${text}`.slice(0, 200), finding: id } }] : []),
  ];
}
