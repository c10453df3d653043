// Reminder settings between what is typed and what is kept, with what is wrong in words; pure.
import { readNumber } from "../../kit/numbers.js";
import { USUAL, WEEKDAYS } from "../../core/hours.js";

/** @typedef {Record<string, string | null>} Errors */
/** @typedef {{ key: string, days: string[], begins: string, ends: string }} ShiftValues */

/** What is usual where the shop says nothing, as the server has it (webapp/reminders/people.py). */
export const SHOP_USUAL = { round_by: "09:00", tag_days: 3, phone_days: 7, escalate_hours: 24, paper_days: 30 };
/** Figures of the shop: what they are called, the unit, the least and the most that the server takes. @type {[keyof typeof SHOP_USUAL, string, string, number][]} */
export const SHOP_FIGURES = [
  ["tag_days", "A tag is told of after", "days", 365], ["phone_days", "A phone that has not synced, after", "days", 365],
  ["escalate_hours", "Work that stands goes to the owner after", "h", 720], ["paper_days", "What runs out is told ahead by", "days", 365],
];
const CLOCK = /^([01]\d|2[0-3]):[0-5]\d$/;
const MAIL = /^[^\s@]+@[^\s@]+\.[^\s@]+$/;

/** @param {string} text @param {string} name @returns {string | null} */
const clockError = (text, name) => (CLOCK.test(text) ? null : `${name} is ${text ? `"${text}"` : "empty"}. Give a time such as 17:30.`);

/** What an owner or a member hears of, as one choice. @param {string[] | undefined} about */
function aboutOf(about) {
  if (!about) return "usual";
  if (about.includes("work")) return about.includes("shop") ? "both" : "work";
  return about.includes("shop") ? "shop" : "none";
}

/** What a person's form begins with. @param {any} person */
export function personStart(person) {
  const own = person?.reminders ?? {};
  const channels = own.channels ?? ["push"];
  return {
    push: channels.includes("push"), mail: channels.includes("mail"), address: own.mail ?? "", hours: own.quiet ? "own" : "shop",
    begins: own.quiet?.begins ?? "18:00", ends: own.quiet?.ends ?? "06:00", about: aboutOf(own.about), where: own.machines ? "some" : "all", machines: own.machines ?? [],
  };
}

/** @type {Record<string, string[]>} */
const ABOUT = { work: ["work"], shop: ["shop"], both: ["work", "shop"], none: ["none"] };

/** @param {ReturnType<typeof personStart>} values @returns {{ errors: Errors, body: any }} */
export function readPerson({ push, mail, address, hours, begins, ends, about, where, machines }) {
  const to = address.trim();
  const own = hours === "own";
  const errors = {
    address: mail && !to ? "The mail address is empty. Type it, or untick mail." : to && !MAIL.test(to) ? `The mail address is "${to}". Write it like name@example.com.` : null,
    begins: own ? clockError(begins, "The begin of the quiet time") : null,
    ends: own ? clockError(ends, "The end of the quiet time") ?? (begins === ends ? "The quiet time ends when it begins. Give another end." : null) : null,
    machines: where === "some" && !machines.length ? "No machine is ticked. Tick at least one, or choose every machine." : null,
  };
  return {
    errors,
    body: {
      channels: [...(push ? ["push"] : []), ...(mail ? ["mail"] : [])], ...(to ? { mail: to } : {}), ...(own ? { quiet: { begins, ends } } : {}),
      ...(ABOUT[about] ? { about: ABOUT[about] } : {}), ...(where === "some" ? { machines } : {}),
    },
  };
}

/** What the shop's times begin with. @param {any} shop */
export function timesStart(shop) {
  const own = shop?.reminders ?? {};
  const shifts = (shop?.shifts ?? USUAL).map((/** @type {any} */ shift, /** @type {number} */ n) => ({ ...shift, key: String(n) }));
  const figures = Object.fromEntries(SHOP_FIGURES.map(([name]) => [name, String(own[name] ?? "")]));
  return { usualShifts: !shop?.shifts, shifts: /** @type {ShiftValues[]} */ (shifts), digest_at: own.digest_at ?? "", round_by: own.round_by ?? "", ...figures };
}

/** What is wrong with one shift, or null. @param {ShiftValues} shift @param {number} n */
function shiftError({ days, begins, ends }, n) {
  const name = `Shift ${n + 1}`;
  if (!days.length) return `${name} has no day. Tick at least one, or take the shift out.`;
  const clock = clockError(begins, `The begin of shift ${n + 1}`) ?? clockError(ends, `The end of shift ${n + 1}`);
  return clock ?? (begins === ends ? `${name} ends when it begins. Give another end.` : null);
}

/** @param {any} values @returns {{ errors: Errors, body: { shifts?: any[], reminders?: any } }} `body`: what is usual is left out */
export function readTimes(values) {
  /** @type {Errors} */
  const errors = { shifts: null };
  if (!values.usualShifts) errors.shifts = values.shifts.length ? values.shifts.map(shiftError).find(Boolean) ?? null : "There is no shift. Add one, or choose the usual hours.";
  /** @type {Record<string, any>} */
  const reminders = {};
  for (const [name, label] of [["digest_at", "The time of the digest"], ["round_by", "The hour of the rounds"]]) {
    errors[name] = values[name] ? clockError(values[name], label) : null;
    if (values[name]) reminders[name] = values[name];
  }
  for (const [name, label, , max] of SHOP_FIGURES) {
    const { value, error } = readNumber(values[name], { name: label, min: 1, max, whole: true, optional: true });
    errors[name] = error;
    if (value !== null) reminders[name] = value;
  }
  const shifts = values.shifts.map((/** @type {ShiftValues} */ { days, begins, ends }) => ({ days: WEEKDAYS.filter((day) => days.includes(day)), begins, ends }));
  return { errors, body: { ...(values.usualShifts ? {} : { shifts }), ...(Object.keys(reminders).length ? { reminders } : {}) } };
}

/** The server's path -> [the form's field, its label]. @type {Record<string, [string, string]>} */
export const TIMES_FIELDS = {
  shifts: ["shifts", "Shifts"], "reminders.digest_at": ["digest_at", "The time of the digest"], "reminders.round_by": ["round_by", "The hour of the rounds"],
  ...Object.fromEntries(SHOP_FIGURES.map(([name, label]) => [`reminders.${name}`, [name, label]])),
};
