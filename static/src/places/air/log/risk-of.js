// The risk of a task from typed fields, before and after controls, with what is wrong with each. Pure.
import { Problem } from "../../../core/problems.js";
import { cell, estimate } from "../../../core/risk.js";

export const RISK_BLANK = { risk: false, severity: "", probability: "", controlled: false, after_severity: "", after_probability: "", tier: "", measure: "", agreed_by: "", review_on: "" };

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
    if (!(error instanceof Problem)) throw error;
    return { ...none, errors: { ...errors, [FIELD_OF[error.field] ?? "after_probability"]: `${error.problem} ${error.mend}` }, before: `${before.level} (${before.code})` };
  }
}
