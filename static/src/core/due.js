// When a task falls due: one rule and the facts of today in, one verdict out.
// Twin of webapp/core/due.py, held to tests/vectors/due.json to the last digit and word.
// Rules come from the server, which has checked them; fixed dates (rrule) come expanded in the facts.
import { addDays, addInterval, daysBetween, sayDate, sayDays } from "./dates.js";
import { say, tidy } from "./numbers.js";

/**
 * @typedef {{state: "resting"|"near"|"due"|"late", due_on: string|null, used: number|null, every: number|null,
 *   left: number|null, unit: string|null, fraction: number, why: string}} Due
 * @typedef {Record<string, number>} Totals
 * @typedef {{date: string, meters: Totals, at?: string}} Moment `at` in UTC, such as 2027-03-02T11:58:11.120Z
 * @typedef {{today: string, in_service: boolean, start: string, done: Moment|null, deferred_to?: string|null,
 *   meters: Totals, readings?: Totals, done_today?: boolean, used_today?: boolean,
 *   events?: Record<string, Moment>, meter_start?: Totals, dates?: string[],
 *   units?: Record<string, string>}} Facts
 * @typedef {Record<string, any>} Rule
 * @typedef {{due: Due, waits: boolean, rests: boolean}} Part
 */

/** Every meter kind with the words for it and the unit that is meant when the facts name none. */
/** @type {Record<string, [string, string]>} */
export const METERS = {
  spindle_hours: ["spindle hours", "h"],
  power_hours: ["power-on hours", "h"],
  cut_area: ["cut area", "sq in"],
  cuts: ["saw cuts", "cuts"],
  belt_minutes: ["belt minutes", "min"],
  blast_hours: ["blast hours", "h"],
  run_hours: ["run hours", "h"],
};

export const URGENCY = { resting: 0, near: 1, due: 2, late: 3 };
const NEAR_SHARE = 0.1;
const LATE_SHARE = 1.1;

/**
 * Judge one due rule by the facts of today.
 * @param {Rule} rule
 * @param {Facts} facts
 * @returns {Due}
 */
export function judge(rule, facts) {
  const part = judgePart(rule, facts);
  return facts.deferred_to && part.waits ? deferred(part, facts.deferred_to, facts) : part.due;
}

/** @type {(rule: Rule, facts: Facts) => Part} */
function judgePart(rule, facts) {
  if ("first_of" in rule) return firstOf(rule.first_of, facts);
  if ("rrule" in rule) return fixedDates(facts);
  if ("after" in rule) return after(rule, facts);
  if ("meter" in rule) return meter(rule, facts);
  if ("each" in rule) return each(facts);
  if ("when" in rule) return when(rule.when, facts);
  return calendar(rule.every, facts);
}

/**
 * The part that comes first, with its numbers: the highest state, then one that does not rest out of service;
 * of those that have a date only the earliest; then the fullest interval, then the earlier in the list. The
 * date is the earliest of all: by then one of them has come, whatever the meters do.
 * @param {Rule[]} rules
 * @param {Facts} facts
 */
function firstOf(rules, facts) {
  const parts = rules.map((rule) => judgePart(rule, facts));
  const top = Math.max(...parts.map(rankOf));
  const leading = parts.filter((part) => rankOf(part) === top);
  const [first] = datesOf(leading);
  const open = leading.filter(({ due }) => due.due_on === null || due.due_on === first);
  const best = open.reduce((one, other) => (other.due.fraction > one.due.fraction ? other : one));
  const due = { ...best.due, due_on: datesOf(parts)[0] ?? null };
  return { due, waits: parts.some((part) => part.waits), rests: best.rests };
}

/** @type {(part: Part) => number} */
const rankOf = ({ due, rests }) => 2 * URGENCY[due.state] + (rests ? 0 : 1);

/** The dates of some parts, the earliest first. @type {(parts: Part[]) => string[]} */
const datesOf = (parts) => parts.flatMap(({ due }) => due.due_on ?? []).sort();

/**
 * The date given in place of the rule's; the numbers stay what was measured.
 * @type {(part: Part, to: string, facts: Facts) => Due}
 */
function deferred(part, to, facts) {
  const { due } = part;
  if (part.rests) return { ...due, due_on: to };
  const left = daysBetween(facts.today, to);
  const why = `Deferred to ${sayDate(to)}: ${sayLeft(to, left)}.`;
  const moved = { ...due, due_on: to, state: dayState(left, 1), why };
  if (due.unit !== "days" || due.used === null) return moved;
  const every = due.used + left;
  return { ...moved, every: Math.max(every, 0), left, fraction: fractionOf(due.used, every) };
}

/** @type {(every: Record<string, number>, facts: Facts) => Part} */
function calendar(every, facts) {
  const [[unit, count]] = Object.entries(every);
  const base = facts.done ? facts.done.date : facts.start;
  const interval = count === 1 ? `1 ${unit.slice(0, -1)}` : `${count} ${unit}`;
  const since = facts.done ? `last done ${sayDate(base)}` : `counted from ${sayDate(base)}`;
  return byDate(base, addInterval(base, unit, count), `Every ${interval}, ${since}`, facts);
}

/** @type {(facts: Facts) => Part} */
function fixedDates(facts) {
  const done = facts.done ? facts.done.date : null;
  const dates = [...(facts.dates ?? [])].sort();
  for (const [index, day] of dates.entries()) {
    const [before, gap] = dateBefore(dates, index);
    const covered = done === null
      ? Boolean(facts.start) && day < facts.start
      : done >= day || doneEarly(done, day, before, gap);
    if (!covered) {
      const base = before ?? done ?? (facts.start || day);
      const since = done ? `last done ${sayDate(done)}` : "not done yet";
      return byDate(base < day ? base : day, day, `Fixed date, ${since}`, facts);
    }
  }
  return idle("Its fixed dates have run out.");
}

/**
 * The date before this one and the days between; judged by the date after it when it is the first.
 * @type {(dates: string[], index: number) => [string|null, number|null]}
 */
function dateBefore(dates, index) {
  if (index) return [dates[index - 1], daysBetween(dates[index - 1], dates[index])];
  if (dates.length < 2) return [null, null];
  const gap = daysBetween(dates[0], dates[1]);
  return [addDays(dates[0], -gap), gap];
}

/**
 * Done shortly before a fixed date counts for it, if the date before had passed by then.
 * @type {(done: string, day: string, before: string|null, gap: number|null) => boolean}
 */
function doneEarly(done, day, before, gap) {
  return before !== null && gap !== null && done > before && daysBetween(done, day) <= leadOf(gap);
}

/** @type {(rule: Rule, facts: Facts) => Part} */
function meter(rule, facts) {
  const now = facts.meters[rule.meter];
  if (now === undefined) return idle(`This machine has no meter for ${METERS[rule.meter][0]}.`);
  const base = (facts.done ? facts.done.meters : facts.meter_start ?? {})[rule.meter] ?? 0;
  const since = facts.done ? `since ${sayDate(facts.done.date)}` : "since the count began";
  return byMeter(rule.meter, now - base, rule.every, since, facts);
}

/** @type {(facts: Facts) => Part} */
function each(facts) {
  if (facts.done_today) return idle("Done today.");
  if (!facts.in_service) return rest(nothing(""));
  const why = facts.used_today ? "Used today before it was done." : "Not done yet today: before the first use.";
  const state = facts.used_today ? "late" : "due";
  return part({ ...nothing(why), state, due_on: facts.today, fraction: 1 });
}

/** @type {(rule: Rule, facts: Facts) => Part} */
function after(rule, facts) {
  const subject = rule.part ?? rule.fluid;
  const happened = subject === undefined ? "the tag was taken off" : `the ${words(subject)} was changed`;
  const event = facts.events?.[subject === undefined ? rule.after : `${rule.after}/${rule.only ?? subject}`];
  if (!event) return idle(`Waits until ${happened}.`);
  const since = `since ${happened} on ${sayDate(event.date)}`;
  const done = facts.done && !isEarlier(facts.done, event, rule.meter) ? facts.done : null;
  if (rule.meter === undefined) return afterDays(rule.days, event.date, done, since, facts);
  return afterMeter(rule, event, done, since, facts);
}

/** @type {(days: number, on: string, done: Moment|null, since: string, facts: Facts) => Part} */
function afterDays(days, on, done, since, facts) {
  const dueOn = addDays(on, days);
  if (done && daysBetween(done.date, dueOn) <= leadOf(days)) return idle(`Done ${since}.`);
  const wait = days ? `Once, ${sayDays(days)}` : "At once";
  const judged = byDate(on, dueOn, `${wait} ${since.replace("since", "after")}`, facts);
  return facts.in_service ? judged : rest(judged.due);
}

/** @type {(rule: Rule, event: Moment, done: Moment|null, since: string, facts: Facts) => Part} */
function afterMeter(rule, event, done, since, facts) {
  const base = event.meters[rule.meter] ?? 0;
  const reached = done ? (done.meters[rule.meter] ?? 0) - base : 0;
  // A threshold counts as met from where it shows as near; a check at 5 does not stand for one at 50.
  const at = rule.at.find((/** @type {number} */ one) => !done || tidy(reached) < tidy(one * (1 - NEAR_SHARE)));
  if (at === undefined) return idle(`Done ${since}.`);
  const now = facts.meters[rule.meter];
  if (now === undefined) return idle(`This machine has no meter for ${METERS[rule.meter][0]}.`);
  return byMeter(rule.meter, now - base, at, since, facts);
}

/**
 * True when the task was last done before the event: by their instants when both have one, else by their
 * dates, and on one and the same day by the meters.
 * @type {(done: Moment, event: Moment, kind: string|undefined) => boolean}
 */
function isEarlier(done, event, kind) {
  if (done.at && event.at) return done.at < event.at;
  if (done.date !== event.date) return done.date < event.date;
  const names = kind ? [kind] : Object.keys(event.meters).filter((name) => name in done.meters);
  return names.some((name) => (done.meters[name] ?? 0) < (event.meters[name] ?? 0));
}

/** @type {(rule: {reading: string, below?: number, above?: number}, facts: Facts) => Part} */
function when({ reading, below = -Infinity, above = Infinity }, facts) {
  const what = capital(words(reading));
  const value = facts.readings?.[reading];
  const unit = facts.units?.[reading] ? ` ${facts.units[reading]}` : "";
  if (value === undefined || value === null) return idle(`${what} has not been measured yet.`);
  const [low, high] = [value < below, value > above];
  const nearLow = low || value - below <= above - value;
  const limit = nearLow ? below : above;
  const room = nearLow ? value - limit : limit - value;
  const numbers = { ...nothing(""), used: tidy(value), every: tidy(limit), left: tidy(room) };
  if (!low && !high) {
    const why = `${what} is ${say(value)}${unit}, within its limit of ${say(limit)}${unit}.`;
    return { ...part({ ...numbers, why }), waits: false };
  }
  if (!facts.in_service) return rest(numbers);
  const why = `${what} is ${say(value)}${unit}, ${low ? "below" : "above"} ${say(limit)}${unit}.`;
  return part({ ...numbers, state: "due", due_on: facts.today, fraction: 1, why });
}

/**
 * A verdict by the calendar: due on the day, late after it, near within its lead.
 * @type {(base: string, dueOn: string, leadIn: string, facts: Facts) => Part}
 */
function byDate(base, dueOn, leadIn, facts) {
  const every = daysBetween(base, dueOn);
  const left = daysBetween(facts.today, dueOn);
  const used = Math.max(every - left, 0);
  const why = `${leadIn}: ${sayLeft(dueOn, left)}.`;
  const fraction = fractionOf(used, every);
  return part({ state: dayState(left, leadOf(every)), due_on: dueOn, used, every, left, unit: "days", fraction, why });
}

/**
 * A verdict by a meter: due when the interval is used up, late a tenth beyond, near in its last tenth.
 * @type {(kind: string, used: number, every: number, since: string, facts: Facts) => Part}
 */
function byMeter(kind, used, every, since, facts) {
  const left = tidy(every - used);
  used = tidy(used);
  const [name, usual] = METERS[kind];
  const unit = facts.units?.[kind] ?? usual;
  const tail = left > 0 ? `${say(left)} left` : left === 0 ? "due now" : `${say(-left)} over`;
  const why = `${capital(name)}: ${say(used)} of ${say(every)} ${unit} ${since}; ${tail}.`;
  const fraction = Math.max(fractionOf(used, every), 0);
  const state = meterState(used, every, left);
  /** @type {Due} */
  const due = { state, due_on: null, used, every: tidy(every), left, unit, fraction, why };
  return facts.in_service ? part(due) : rest(due);
}

/** @type {(used: number, every: number, left: number) => Due["state"]} */
function meterState(used, every, left) {
  if (used > tidy(every * LATE_SHARE)) return "late";
  if (used >= tidy(every)) return "due";
  return left <= tidy(every * NEAR_SHARE) ? "near" : "resting";
}

/** @type {(left: number, lead: number) => Due["state"]} */
function dayState(left, lead) {
  if (left < 0) return "late";
  if (left === 0) return "due";
  return left <= lead ? "near" : "resting";
}

/**
 * Days before the date within which it is near: a fifth of the interval, 1 to 7.
 * @param {number} every
 */
const leadOf = (every) => Math.max(1, Math.min(7, Math.floor(every / 5)));

/** @type {(used: number, every: number) => number} */
const fractionOf = (used, every) => (every > 0 ? tidy(used / every) : 1);

/** @type {(due: Due) => Part} */
const part = (due) => ({ due, waits: true, rests: false });

/** @type {(why: string) => Part} */
const idle = (why) => ({ due: nothing(why), waits: false, rests: false });

/** @type {(due: Due) => Part} */
function rest(due) {
  const why = "Rests while the machine is out of service.";
  return { due: { ...due, state: "resting", due_on: null, why }, waits: true, rests: true };
}

/** @type {(why: string) => Due} */
function nothing(why) {
  return { state: "resting", due_on: null, used: null, every: null, left: null, unit: null, fraction: 0, why };
}

/** @type {(dueOn: string, left: number) => string} */
function sayLeft(dueOn, left) {
  if (left === 0) return "due today";
  if (left < 0) return `was due on ${sayDate(dueOn)}, ${sayDays(-left)} ago`;
  return `due on ${sayDate(dueOn)}, in ${sayDays(left)}`;
}

/** @type {(name: string) => string} */
const words = (name) => name.replace(/[_.-]/g, " ");

/** @type {(text: string) => string} */
const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);
