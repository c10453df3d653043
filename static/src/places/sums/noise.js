// Bench sums of noise: a day of several levels by OSHA, NIOSH and the rules of Britain and the European Union; the level under a protector.
import { daily, hoursTo, stands, worn } from "../../core/noise-daily.js";
import { allowedHours, day, impulse, protectedLevel } from "../../core/noise.js";
import { Problem } from "../../core/problems.js";
import { figure } from "../../kit/numbers.js";

/** @typedef {import("./sum.js").Sum} Sum @typedef {import("./sum.js").Field} Field @typedef {import("./sum.js").Figure} Figure @typedef {import("./sum.js").Verdict} Verdict */

/** As many levels as one day takes; the next one shows once the last is begun. */
const MOST_ROWS = 8;
const GROUP = "Noise";

/** @param {Record<string, string>} typed */
function rows(typed) {
  let shown = 1;
  while (shown < MOST_ROWS && (typed[`level${shown}`] ?? "").trim()) shown += 1;
  return Array.from({ length: shown }, (_, place) => place + 1);
}

/** The periods that were typed, and of which row each is. @param {Record<string, any>} given */
function periodsOf(given) {
  const found = /** @type {{ row: number, level: number, hours: number }[]} */ ([]);
  for (let row = 1; row <= MOST_ROWS; row += 1) {
    const [level, minutes] = [given[`level${row}`] ?? null, given[`minutes${row}`] ?? null];
    if (level === null && minutes === null) continue;
    if (level === null) throw new Problem(`level${row}`, "It is empty.", "Give the level of this time, or take the time out.");
    if (minutes === null) throw new Problem(`minutes${row}`, "It is empty.", "Give how long it is so loud, or take the level out.");
    found.push({ row, level, hours: minutes / 60 });
  }
  return found;
}

/** The core names a period by its place; here it has a row. @template T @param {{ row: number }[]} periods @param {() => T} work @returns {T} */
function inRows(periods, work) {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    const found = /^periods\[(\d+)\]\.(level|hours)$/.exec(error.field);
    if (!found) throw error;
    const { row } = periods[Number(found[1])];
    throw found[2] === "level" ? new Problem(`level${row}`, error.problem, error.mend) : new Problem(`minutes${row}`, "It is not above 0 and up to 1440 min.", "Give the minutes it lasted.");
  }
}

/** "3 h 12 min", "48 min"; beyond a day it does not matter. @param {number} hours */
function sayHours(hours) {
  if (hours > 24) return "all day";
  const minutes = Math.floor(hours * 60 + 1e-9); // a time that is allowed is never rounded up
  if (minutes < 1) return "less than a minute";
  return [minutes >= 60 ? `${Math.floor(minutes / 60)} h` : "", minutes % 60 ? `${minutes % 60} min` : ""].filter(Boolean).join(" ");
}

/** @param {number} level @returns {import("./sum.js").Printed} */
function allowed(level) {
  const [osha, niosh] = [allowedHours(level, "osha"), allowedHours(level, "niosh")];
  const eu = [80, 85, 87].map((value) => `${value} dB(A) after ${sayHours(hoursTo(level, value))}`).join(", ");
  const loud = level > 115;
  return {
    lead: `${figure(level, 1)} dBA`, notes: [loud ? "OSHA: no time at all." : `OSHA's limit: ${sayHours(osha)} a day.`, `NIOSH's recommendation: ${sayHours(niosh)} a day.`, `Daily exposure in Britain and the EU: ${eu}.`],
    ...(loud ? { mark: /** @type {Verdict} */ ("stop"), word: "above 115 dBA" } : {}), source: "29 CFR 1910.95 Appendix A; NIOSH 98-126; Control of Noise at Work Regulations 2005, Schedule 1 and regulation 4",
  };
}

/** @param {import("../../core/noise.js").Day} found @param {boolean} whole @returns {Figure[]} */
function american({ limit, action, niosh }, whole) {
  /** @type {(over: boolean, over_word: string, mark: Verdict) => { verdict: Verdict, word: string }} */
  const told = (over, word, mark) => (over ? { verdict: mark, word } : { verdict: whole ? "within" : "look", word: whole ? "below it" : "at least this: the rest of the shift is not in it" });
  return [
    { name: "OSHA's limit: dose counted from 90 dBA, 100 % is the limit", value: limit.dose, unit: "%", places: 0, ...told(limit.dose >= 100, "at or over the limit", "stop") },
    { name: "OSHA's hearing conservation: dose counted from 80 dBA, from 50 %", value: action.dose, unit: "%", places: 0, ...told(action.dose >= 50, "at or over the action level", "look") },
    { name: "OSHA's eight-hour average, counted from 80 dBA", value: action.twa === null ? "nothing counts" : action.twa, unit: action.twa === null ? "" : "dBA", places: 1 },
    { name: "NIOSH's recommendation: dose, 100 % is 85 dBA for 8 h", value: niosh.dose, unit: "%", places: 0, ...told(niosh.dose >= 100, "at or over the recommendation", "look") },
  ];
}

/** @type {Sum} */
export const dose = {
  title: "Noise of a day", group: GROUP, short: "Levels and minutes to dose and daily exposure", cautions: ["noise"],
  meant: "Each job's level at the ear without protectors, and how long it lasts. A meter set to A and slow for OSHA, or its LAeq for Britain and the EU; for a steady noise the two are alike.",
  fields: (typed) => [
    ...rows(typed).flatMap((row) => /** @type {Field[]} */ ([
      { name: `level${row}`, label: row === 1 ? "Level" : `Level ${row}`, unit: "dBA", optional: row > 1, hint: row === rows(typed).length && row > 1 ? "The next job, if there is one." : undefined },
      { name: `minutes${row}`, label: row === 1 ? "For" : `Level ${row} for`, unit: "min", optional: row > 1 }])),
    { name: "shift", label: "The whole shift", unit: "h", optional: true, hint: "When the times above are not all of it: what is left over is not known." },
    { name: "peak", label: "Loudest peak", unit: "dB(C)", optional: true, hint: "Of a blow or a bang, with a meter that shows peaks." }],
  work(given) {
    const periods = periodsOf(given);
    const pairs = periods.map(({ level, hours }) => /** @type {[number, number]} */ ([level, hours]));
    const us = inRows(periods, () => day(pairs, given.shift));
    const eu = daily(pairs);
    const bang = given.peak === null ? null : impulse(given.peak);
    const stood = stands(Math.max(eu.level, 20), given.peak);
    const whole = us.unmeasured === 0;
    const euMark = /** @type {Verdict} */ (stood.value === "limit value" ? "stop" : stood.value || !whole ? "look" : "within");
    return {
      figures: [...american(us, whole),
        { name: "Daily exposure in Britain and the EU (LEP,d): 80 lower, 85 upper action value, 87 limit", value: eu.level, unit: "dB(A)", places: 1, verdict: euMark,
          word: stood.value === "limit value" ? "at or over the limit value, unless protectors bring it down" : stood.value ? `at or over the ${stood.value}` : whole ? "below the lower action value" : "at least this: the rest of the shift is not in it" },
        ...(bang ? [{ name: "Peak, beside 140 dB", value: given.peak, unit: "dB(C)", places: 1, verdict: /** @type {Verdict} */ (bang.word === "at or over the limit" ? "stop" : "within"), word: bang.word }] : [])],
      said: [`OSHA: ${us.todo}`, `Britain and the EU: ${stood.todo}`, ...(stood.value === "limit value" ? ["The limit value alone counts protectors: reckon the level under them with the sum beside this one."] : []),
        ...(whole ? [] : [`${figure(us.unmeasured)} h of the shift have no level: nothing here can be below a limit.`])],
      lists: [{ name: "Time allowed at each level, were it all of the day", rows: [...new Set(periods.map(({ level }) => level))].sort((a, b) => b - a).map(allowed) }],
      sure: "A shop meter is right within 2 dB (type 2, from memory): that alone is a third of the dose by OSHA, more than half by energy. And one day is not every day.",
      sources: [us.limit.source, us.niosh.source, stood.source],
    };
  },
};

const KINDS = [{ value: "muffs", text: "Ear muffs" }, { value: "formable plugs", text: "Foam plugs, rolled" }, { value: "other plugs", text: "Other plugs" }];

/** By the American rating. @param {Record<string, any>} given @returns {import("./sum.js").Answer} */
function byNrr({ level, nrr, kind, weighting, second }) {
  const found = protectedLevel(level, nrr, kind, weighting, second === "yes");
  const [verdict, word] = /** @type {[Verdict, string]} */ (found.level >= 90 ? ["stop", "at or over 90 dBA"] : found.level >= 85 ? ["look", "at or over 85 dBA"] : ["within", "below 85 dBA"]);
  return {
    figures: [{ name: "At the ear, the highest of the three below", value: found.level, unit: "dBA", places: 1, verdict, word },
      ...([["By its label", found.label], ["By half of the label, as OSHA advises", found.field], ["By NIOSH's share for the kind", found.derated]]).map(([name, one]) => ({ name: `${name}`, value: /** @type {any} */ (one).level, unit: "dBA", places: 1 }))],
    said: [...(found.two_advised ? ["From 100 dBA plugs under muffs are advised."] : []), `NIOSH: ${found.derated.why}`, "The level that counts is an eight-hour average: OSHA wants 90 dBA or less under the protector, 85 where hearing has shifted."],
    sure: "A rating is what laboratories reach. Only a fit test of your own ears with your own plugs says what you get.", sources: [found.label.source, found.field.source, found.derated.source],
  };
}

/** By the European rating. @param {Record<string, any>} given @returns {import("./sum.js").Answer} */
function bySnr({ level, snr }) {
  const found = worn(level, snr);
  const [verdict, word] = /** @type {[Verdict, string]} */ (found.level >= 87 ? ["stop", "at or over 87 dB(A)"] : found.level >= 80 ? ["look", "80 dB(A) or more"] : found.too_quiet ? ["look", "below 70 dB(A): too quiet to hear a warning"] : ["within", "70 to 80 dB(A)"]);
  return {
    figures: [{ name: "At the ear, as really worn", value: found.level, unit: "dB(A)", places: 1, verdict, word }, { name: "By the standard alone", value: found.by_label, unit: "dB(A)", places: 1 }],
    said: [found.why, "The limit value of 87 dB(A) is held against a day's exposure under the protector; the action values take no account of it. HSE's guidance aims at 70 to 80 dB at the ear, as noisemeters.co.uk prints it: commonly cited, confirm."],
    sure: "One number for all pitches: with much low hum it says too much. With the H, M and L figures or octave bands it is surer.", sources: [found.source],
  };
}

/** @type {Sum} */
export const protector = {
  title: "Level under a protector", group: GROUP, short: "What muffs or plugs leave, by NRR or SNR", cautions: ["noise"],
  meant: "The level where it is worn, and the rating on the packet. Without it for five minutes of an hour, the best protector takes 11 dB off that hour and no more.",
  fields: ({ rating = "nrr", weighting = "A" }) => [
    { name: "rating", label: "The packet says", kind: "choice", start: "nrr", options: [{ value: "nrr", text: "NRR", note: "American" }, { value: "snr", text: "SNR", note: "European" }] },
    { name: "level", label: "Level outside", unit: rating === "snr" || weighting === "C" ? "dB(C)" : "dBA", hint: rating === "snr" ? "C-weighted: the meter set to C." : undefined },
    .../** @type {Field[]} */ (rating === "snr" ? [{ name: "snr", label: "SNR", unit: "dB" }] : [
      { name: "weighting", label: "The meter was set to", kind: "choice", start: "A", options: [{ value: "A", text: "A" }, { value: "C", text: "C" }] },
      { name: "nrr", label: "NRR", unit: "dB" }, { name: "kind", label: "Protector", kind: "select", options: KINDS, start: "muffs" },
      { name: "second", label: "Plugs under muffs as well", kind: "choice", start: "no", options: [{ value: "no", text: "No" }, { value: "yes", text: "Yes", note: "give the NRR and kind of the higher rated" }] }]),
  ],
  work: (given) => (given.rating === "snr" ? bySnr(given) : byNrr(given)),
};
