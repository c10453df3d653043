// A printed sheet typed in afterwards: what stands on it becomes a past-dated round, its findings and its counters. Pure.
import { emptyDoc } from "../../core/fold.js";
import { readNumber } from "../../kit/numbers.js";
import { entriesOf, firstFinding, newRun, readingOf } from "../round/run.js";

/** @typedef {import("../../store/types.js").Definition} Definition @typedef {import("../../store/types.js").NewEntry} NewEntry */
/** @typedef {import("../round/run.js").Check} Check @typedef {import("../round/run.js").Answer} Answer */
/** @typedef {{ mark?: "ok" | "not ok" | "n/a" | "", typed?: string, choice?: string, note?: string, done?: string }} Line what stands beside a check */
/** @typedef {{ day: string, begun: string, ended: string, who: string, lines: Record<string, Line>, counters: Record<string, string> }} Sheet */
/** @typedef {Record<string, string | null>} Errors by field, or by check or meter id */

/** The minutes that a zone's wall clock is ahead of UTC at an instant. @param {number} ms @param {string} zone */
function ahead(ms, zone) {
  const parts = new Intl.DateTimeFormat("en-US", { timeZone: zone, hourCycle: "h23", year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", second: "2-digit" }).formatToParts(ms);
  const of = (/** @type {string} */ type) => Number(parts.find((part) => part.type === type)?.value);
  return Date.UTC(of("year"), of("month") - 1, of("day"), of("hour"), of("minute"), of("second")) - Math.floor(ms / 1000) * 1000;
}

/** The instant of a time on the shop's wall; one that the clocks leap over is taken as an hour later. @param {string} day YYYY-MM-DD @param {string} time HH:MM @param {string} zone */
export function onTheWall(day, time, zone) {
  const wall = Date.parse(`${day}T${time}:00Z`);
  const first = wall - ahead(wall, zone);
  const second = wall - ahead(first, zone);
  return new Date(ahead(second, zone) === ahead(first, zone) ? second : first);
}

/** What a check is answered with by what was typed; a word when something is missing. @param {Check} check @param {Line} line @returns {{ answer: Answer } | { error: string }} */
export function answerOn(check, line) {
  const note = line.note?.trim();
  const more = note ? { note } : {};
  if (line.mark === "n/a") {
    return check.stop && !note ? { error: "A stop check: write in the note why it did not apply." } : { answer: { answer: "n/a", ...more } };
  }
  if (check.answer === "choice" && line.choice) {
    const chosen = (check.choices ?? []).find(({ text }) => text === line.choice);
    return { answer: withFinding(check, { answer: chosen?.ok ? "ok" : "not ok", choice: line.choice, ...more }) };
  }
  if (check.answer === "reading" && line.typed?.trim()) {
    const { value, error, judged } = readingOf(check, line.typed);
    if (value === null) return { error: error ?? "The reading is not a number." };
    const answer = line.mark === "not ok" || judged?.stop ? "not ok" : "ok";
    return { answer: withFinding(check, { answer, value, ...(judged ? { verdict: judged.verdict } : {}), ...more }) };
  }
  if (!line.mark) return { error: "Not answered: choose what is ticked on the sheet, n/a where nothing is." };
  if (line.mark === "ok" && check.answer === "reading") return { error: "Type the value that stands on the sheet, or choose n/a." };
  return { answer: withFinding(check, { answer: line.mark, ...more }) };
}

/** What was not ok is a finding, in the words of the sheet. The tag of that day is long off or is hung by hand. @param {Check} check @param {Answer} answer @returns {Answer} */
function withFinding(check, answer) {
  if (answer.answer !== "not ok") return answer;
  const first = firstFinding(check, answer);
  return { ...answer, finding: { ...first, text: answer.note ?? first.text, tag: false, raise: false } };
}

/**
 * Everything that a sheet puts in the record, or what is wrong with it by field.
 * @param {{ checklist: Definition, machine: Definition | null, sheet: Sheet, zone: string, now: Date, newId: () => string }} from
 * @returns {{ entries: NewEntry[] } | { errors: Errors }}
 */
export function sheetEntries({ checklist, machine, sheet, zone, now, newId }) {
  const checks = /** @type {Check[]} */ (checklist.checks);
  const { errors, begun, ended } = timesOf(sheet, zone, now);
  const run = newRun(checklist, begun ?? now);
  for (const check of checks) {
    const found = answerOn(check, sheet.lines[check.id] ?? {});
    if ("error" in found) errors[check.id] = found.error;
    else run.answers[check.id] = found.answer;
  }
  const counters = (machine?.meters ?? []).flatMap((/** @type {any} */ meter) => {
    const { value, error } = readNumber(sheet.counters[meter.id] ?? "", { name: meter.name, min: 0, optional: true });
    if (error) errors[meter.id] = error;
    return value === null ? [] : [{ kind: "meter.read", machine: machine?.id ?? null, body: { meter: meter.id, value } }];
  });
  if (!sheet.who) errors.who = "Who walked it? Choose the name on the sheet.";
  if (Object.keys(errors).length || !begun || !ended) return { errors };
  // The sheet is of its own day: what is tagged or open now does not change how it ended.
  /** @type {NewEntry[]} */
  const made = entriesOf({ run, checklist, doc: emptyDoc(), machine: machine?.id ?? "", seconds: (ended.getTime() - begun.getTime()) / 1000, newId });
  const [round, ...found] = made.map((entry) => ({ ...entry, machine: entry.machine || null }));
  round.body.typed_in = true;
  const closed = found.flatMap(({ id, kind, machine: at, body }) => {
    const done = kind === "finding.opened" ? sheet.lines[body.check]?.done?.trim() : "";
    return done ? [{ kind: "finding.closed", machine: at, body: { finding: id, done } }] : [];
  });
  return { entries: [round, ...found, ...counters, ...closed].map((entry) => ({ ...entry, at: ended.toISOString(), by: sheet.who })) };
}

/** When it was walked. @param {Sheet} sheet @param {string} zone @param {Date} now */
function timesOf({ day, begun, ended }, zone, now) {
  /** @type {Errors} */
  const errors = {};
  if (!/^2[01]\d\d-\d\d-\d\d$/.test(day)) errors.day = "The date is empty. Take the one on the sheet.";
  if (!/^\d\d:\d\d$/.test(ended)) errors.ended = "The time is empty. Take the one on the sheet.";
  if (Object.keys(errors).length) return { errors, begun: null, ended: null };
  const end = onTheWall(day, ended, zone);
  const start = /^\d\d:\d\d$/.test(begun) ? onTheWall(day, begun, zone) : end;
  if (end > now) errors.day = "That is still to come. Take the date and time on the sheet.";
  if (start > end) errors.begun = "It begins after it ends. A round over midnight is typed in with the day it ended, without this time.";
  return { errors, begun: start, ended: end };
}
