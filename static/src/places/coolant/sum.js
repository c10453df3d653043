// The top-up worked out and put in words, and the entries that one press makes of it. Pure.
import { depthAt, readStrength, volumeAt } from "../../core/coolant.js";
import { neat, reach, topUp } from "../../core/mix.js";
import { tidy } from "../../core/numbers.js";
import { verdict } from "../../core/bands.js";
import { Problem } from "../../core/problems.js";
import { capital } from "../../kit/dates.js";
import { figure, readNumber } from "../../kit/numbers.js";
import { quantityOf } from "../standing.js";

/** @typedef {import("../../core/mix.js").TopUp} TopUp */
/** @typedef {{ how: "volume" | "depth", level: string, reading: string, zero: string, target: string, fill: string, jug: string }} Typed */
/**
 * @typedef {object} Worked
 * @property {number | null} percent the strength as read
 * @property {boolean} zeroed the instrument was tried on water
 * @property {number | null} volume what stands in the sump
 * @property {TopUp | null} mix null while something is missing or wrong
 * @property {{ low: number, high: number, room: number } | null} reached by filling alone
 * @property {number | null} strengthen concentrate that lifts what is in the sump to the target, where there is room
 * @property {number | null} mark the depth to fill to, where the sump's shape is known
 * @property {Record<string, string | null>} errors by field of what was typed
 */

/** The smallest amount that a usual jug measures, in the fluid's unit (common practice, no source). @param {string} unit */
const stepOf = (unit) => (unit === "gal" ? 0.05 : 0.1);

/** Above this make-up strength, in %, water at hand does not take the concentrate up; as webapp/upkeep/fluid_coolant.py has it. */
const PREMIX_MOST = 25;

/** Fluids that are mixed with water: those with a band or a factor. @param {any} fluid */
export const isMixed = (fluid) => Boolean(fluid.band || fluid.factor || fluid.kind === "coolant");

/** What stands in the fields when nothing is known but the fluid itself. @param {any} fluid @returns {Typed} */
export const blankOf = (fluid) => ({
  how: fluid.sump ? "depth" : "volume", level: "", reading: "", zero: "", target: String(fluid.target ?? fluid.band?.target ?? ""),
  fill: String(fluid.capacity), jug: String(fluid.jug ?? stepOf(fluid.unit)),
});

const NAMES = /** @type {Record<string, string>} */ ({ capacity: "what the sump holds", level: "the level", depth: "the depth", percent: "the strength", reading: "the refractometer", zero: "on water",
  target: "the target", fill_to: "fill up to", step: "the jug", factor: "the factor set for this coolant" });
const FIELDS = /** @type {Record<string, string>} */ ({ percent: "reading", factor: "reading", fill_to: "fill", capacity: "level", depth: "level", step: "jug" });

/** Run one step of the core; its refusal becomes an error by field. @template T @param {Record<string, string | null>} errors @param {() => T} step @returns {T | null} */
function attempt(errors, step) {
  try {
    return step();
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    errors[FIELDS[error.field] ?? error.field] = `${capital(NAMES[error.field] ?? error.field)}: ${error.problem} ${error.mend}`;
    return null;
  }
}

/** @param {any} fluid @param {Typed} typed @returns {Worked} */
export function workMix(fluid, typed) {
  const rules = /** @type {const} */ ([["level", typed.how === "depth" ? "The depth" : "The level"], ["reading", "The refractometer"], ["target", "The target"], ["fill", "Fill up to"], ["jug", "The jug"]]);
  const read = Object.fromEntries(rules.map(([name, said]) => [name, readNumber(typed[name], { name: said })]));
  const zero = readNumber(typed.zero, { name: "On water", optional: true });
  /** @type {Record<string, string | null>} */
  const errors = { ...Object.fromEntries(rules.map(([name]) => [name, read[name].error])), zero: zero.error };
  const reading = read.reading.value;
  const strength = reading === null || zero.error ? null : attempt(errors, () => readStrength(reading, fluid.factor ?? 1, zero.value));
  const volume = read.level.value === null ? null : attempt(errors, () => volumeOf(fluid, typed.how, /** @type {number} */ (read.level.value)));
  const percent = strength?.percent ?? null;
  const [target, fill, jug] = [read.target.value, read.fill.value, read.jug.value];
  const base = { percent, zeroed: strength?.zeroed ?? false, volume, errors };
  if (percent === null || volume === null || target === null || fill === null || jug === null) return { ...base, mix: null, reached: null, strengthen: null, mark: null };
  const sump = { capacity: fluid.capacity, level: volume, percent, fill_to: fill };
  const mix = attempt(errors, () => topUp({ ...sump, target, step: jug }));
  return { ...base, mix, ...(mix ? around(fluid, sump, target, fill) : { reached: null, strengthen: null, mark: null }) };
}

/** @param {any} fluid @param {string} how @param {number} level */
function volumeOf(fluid, how, level) {
  if (how === "depth") return volumeAt(fluid.sump, level, fluid.capacity, fluid.unit);
  return level;
}

/** What can be reached without draining, and to which mark to fill. @param {any} fluid @param {{ capacity: number, level: number, percent: number, fill_to: number }} sump @param {number} target @param {number} fill */
function around(fluid, sump, target, fill) {
  /** @type {Record<string, string | null>} */
  const unasked = {};
  const lift = sump.percent < target ? attempt(unasked, () => neat(sump.level, sump.percent, target)) : null;
  return {
    reached: reach(sump),
    strengthen: lift !== null && lift > 0 && sump.level + lift <= fill ? lift : null,
    mark: fluid.sump ? attempt(unasked, () => depthAt(fluid.sump, fill, fluid.capacity, fluid.unit)) : null,
  };
}

/** What to pour in, large: "0.55 gal water and 0.1 gal concentrate". @param {{ water: number, concentrate: number }} mix @param {string} unit */
export function sayPour({ water, concentrate }, unit) {
  const poured = [water > 0 && `${figure(water)} ${unit} water`, concentrate > 0 && `${figure(concentrate)} ${unit} concentrate`].filter(Boolean);
  return poured.join(" and ");
}

/** How it is poured. @param {TopUp} mix */
export function sayHow({ water, concentrate, makeup }) {
  if (!concentrate) return water > 0 ? "Water alone: straight into the sump." : "";
  if (!water || (makeup ?? 0) > PREMIX_MOST) {
    const first = water ? `So little water does not take up so much concentrate (${figure(makeup, 0)} %): the water goes into the sump first. ` : "";
    return `${first}Stir the concentrate into a bucket drawn from the sump and pour that back, pump running; never neat into the sump.`;
  }
  return "Pour the concentrate into the water, stirring, and that into the sump. Never water into concentrate.";
}

/** Level and strength once it is in, and what the jug's marks did. @param {TopUp} mix @param {number} target @param {string} unit */
export function sayThen({ volume, strength, concentrate, exact_concentrate: exact, makeup, water }, target, unit) {
  const into = makeup !== null && water > 0 && concentrate > 0 ? ` The mix poured in has ${figure(makeup, 1)} %.` : "";
  const rounded = Math.abs(exact - concentrate) > 1e-6 ? ` Exactly it would be ${figure(exact, 3)} ${unit} concentrate; the jug's marks round it.` : "";
  const off = Math.abs(strength - target) >= 0.05 ? `, ${figure(Math.abs(strength - target), 1)} ${strength < target ? "below" : "above"} the target` : "";
  return `Then the sump holds ${figure(volume)} ${unit} at ${figure(strength, 1)} %${off}.${into}${rounded}`;
}

/** Why something must be taken out first, and the ways round it; null when filling alone gets there. @param {Worked} work @param {number} target @param {string} unit */
export function sayDrain({ mix, reached, volume, percent }, target, unit) {
  if (!mix || mix.reachable || !reached || volume === null || percent === null) return null;
  const alone = reached.room > 0 ? `Filling alone gives ${figure(reached.low, 1)} to ${figure(reached.high, 1)} %` : "The sump is full";
  const why = `${alone}: ${figure(target)} % cannot be reached without draining.`;
  if (!mix.drain) return `${why} It is less than one mark of the jug.`;
  const wait = percent < target ? ` Or wait until use has taken the sump down to ${figure(volume - mix.exact_drain)} ${unit}.` : "";
  return `${why} Used coolant goes to the waste drum, not the drain.${wait}`;
}

/** What filling up alone comes to, where that lies inside the band already. @param {Worked} work @param {any} fluid */
export function saySkip({ mix, percent, reached }, { band, unit }) {
  if (!mix?.drain || mix.undrained === null || percent === null || !reached || verdict(mix.undrained, band ?? {}) !== "within" || !band) return "";
  const alone = reached.room > 0 ? `${figure(reached.room)} ${unit} of ${percent < mix.undrained ? "concentrate" : "water"} alone gives` : "As it is it has";
  return `${alone} ${figure(mix.undrained, 1)} %, inside the band.`;
}

/**
 * What one press puts in the record, in the order it was done, a millisecond apart so that the order stays.
 * @param {{ machine: string, fluid: any, work: Worked, typed: Typed, own: { reading: boolean, level: boolean }, poured: { water: number, concentrate: number }, note: string }} made
 *   `own`: what was read just now, not taken over from the record
 * @param {(date: Date) => string} say an instant as the record has it @param {Date} now
 * @returns {import("../../store/types.js").NewEntry[]}
 */
export function entriesOf({ machine, fluid, work, typed, own, poured, note }, say, now) {
  const prefix = quantityOf(fluid).replace(/\.[^.]*$/, "");
  /** @type {{ kind: string, body: any }[]} */
  const made = [];
  const reading = (/** @type {any} */ body) => made.push({ kind: "reading.taken", body });
  const zero = readNumber(typed.zero, { name: "", optional: true }).value;
  if (zero !== null) reading({ quantity: `${prefix}.zero`, value: zero, unit: "Brix", instrument: "refractometer" });
  if (own.reading && work.percent !== null) reading({ quantity: quantityOf(fluid), value: work.percent, unit: "%", instrument: "refractometer" });
  if (own.level) reading(levelBody(fluid, prefix, typed, work));
  const amount = tidy(poured.water + poured.concentrate);
  const drained = work.mix?.drain ? `${figure(work.mix.drain)} ${fluid.unit} taken out first.` : "";
  const said = [drained, note].filter(Boolean).join(" ");
  if (amount > 0) made.push({ kind: "fluid.added", body: { fluid: fluid.id, amount, unit: fluid.unit, water: poured.water, concentrate: poured.concentrate, ...(said ? { note: said } : {}) } });
  const stands = tidy((work.volume ?? 0) - (work.mix?.drain ?? 0) + amount);
  // A fill is taken to go up to the full mark; one to a lower mark says where it ended.
  if (amount > 0 && Number(typed.fill) < fluid.capacity) reading({ quantity: `${prefix}.level`, value: stands, unit: fluid.unit, note: "After the fill, reckoned." });
  return made.map((one, index) => ({ ...one, machine, at: say(new Date(now.getTime() - (made.length - 1 - index))) }));
}

/** @param {any} fluid @param {string} prefix @param {Typed} typed @param {Worked} work */
function levelBody(fluid, prefix, typed, work) {
  if (typed.how === "depth") return { quantity: `${prefix}.depth`, value: readNumber(typed.level, { name: "" }).value, unit: fluid.sump.unit };
  return { quantity: `${prefix}.level`, value: work.volume, unit: fluid.unit };
}
