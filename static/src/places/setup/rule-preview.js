// The rule that is being written, read back: in words, as it stands today, and what comes next.
import { html } from "htm/preact";
import { Section, StateMark, figure } from "../../kit/index.js";
import { addDays, sayDate } from "../../core/dates.js";
import { judge } from "../../core/due.js";
import { factsOf } from "../../core/facts.js";
import { definitions } from "../../store/index.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { same } from "./clash.js";
import { aheadOf } from "./rule-ahead.js";
import { datesOf } from "./rule-dates.js";
import { sayRule, unitsOf } from "./rule-words.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {import("../../core/due.js").Rule} Rule */
/** @typedef {import("./rule-ahead.js").Ahead} Ahead */

const LOOK_BACK_DAYS = 366;

/** A date that is not broken over two lines. @param {string} day */
const whole = (day) => sayDate(day).replaceAll(" ", "\u00a0");

/** The fixed dates of a rule around today: worked out here, or the server's when they are of this same rule; null when only the server can tell. @param {Rule} rule @param {Definition | null} base @param {string} today @returns {string[] | null} */
function datesAround(rule, base, today) {
  const fixed = ("first_of" in rule ? rule.first_of : [rule]).find((/** @type {Rule} */ one) => "rrule" in one);
  if (!fixed) return [];
  const own = datesOf(fixed, addDays(today, -LOOK_BACK_DAYS), addDays(today, LOOK_BACK_DAYS));
  return own ?? (base && same(base.rule, rule) ? base.dates ?? [] : null);
}

/** @param {{ ahead: Ahead, units: Record<string, string>, alone: boolean }} props */
function Next({ ahead, units, alone }) {
  const { rule, dates, counts, unit, now, none } = ahead;
  return html`<li>${!alone && html`<b>${sayRule(rule, units)}</b>`}${dates && html`<span>Next: ${dates.map(whole).join(" · ")}</span>`}
    ${counts && html`<span>Next at ${counts.map((one) => figure(one)).join(" · ")} ${unit}. The meter stands at ${figure(now)} ${unit}.</span>`}${none && html`<span>${none}</span>`}</li>`;
}

/**
 * @param {{ rule: Rule | null, machine: Definition | null, base: Definition | null, start: string, checklist: string, meterStart: Record<string, number> }} props
 *   `base`: the task as it is kept, for when it was last done
 */
export function RulePreview({ rule, machine, base, start, checklist, meterStart }) {
  if (!rule || !start) return html`<${Section} title="Read back"><p class="soft">As soon as the rule is whole, it stands here in words with what comes next.</p><//>`;
  const { zone, today } = calendar.value;
  const { now } = world.value;
  const units = unitsOf(machine, definitions.value.checklists);
  const dates = datesAround(rule, base, today);
  const task = { id: base?.id ?? "", start, checklist: checklist || null, meter_start: meterStart, dates: dates ?? [] };
  const facts = factsOf(task, /** @type {any} */ (machine), docOf(world.value, machine), { now: now.getTime(), zone });
  const due = judge(rule, facts);
  const ahead = aheadOf(rule, facts);
  return html`<div class="will" aria-live="polite"><b>Read back</b><p><b>${sayRule(rule, units)}.</b></p>
    ${dates && html`<p><${StateMark} mark=${due.state} word=${`Today: ${due.state}`} /> <span class="soft">${due.why}</span></p>`}
    <ul>${ahead.map((one, index) => html`<${Next} key=${index} ahead=${one} units=${units} alone=${ahead.length === 1} />`)}</ul>
    ${ahead.some((one) => (one.dates ?? one.counts ?? []).length > 1) && html`<p class="soft">When it is done each time as it falls due.</p>`}</div>`;
}
