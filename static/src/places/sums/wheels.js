// Bench sums of what turns: surface speed both ways, grinder gaps, wheel rating and flange, belt speed, mixed dust.
import { beltAdvice, beltSpeed, flange, gaps, wheelSpeed } from "../../core/abrasives.js";
import { dust } from "../../core/mixed-dust.js";
import { Problem } from "../../core/problems.js";
import { rpmFor, surfaceSpeed } from "../../core/speeds.js";
import { figure } from "../../kit/numbers.js";
import { LENGTH } from "./saw.js";

/** @typedef {import("./sum.js").Sum} Sum @typedef {import("../../core/abrasives.js").Limit} Limit */

/** @param {string} name @param {Limit} limit @param {string} good @param {string} bad @returns {import("./sum.js").Figure} */
const held = (name, { value, unit, over }, good, bad) => ({ name, value, unit, places: 3, verdict: over ? "stop" : "within", word: over ? bad : good });

/** @type {Sum} */
export const speed = {
  title: "Surface speed", group: "Turning, grinding, sanding", short: "Speed from rpm, or rpm from speed", cautions: ["rotating_spindle"],
  meant: "The speed at the rim of a wheel, drum, cutter or bar. On a lathe take the bar's diameter, on a mill or drill the cutter's.",
  fields: ({ ways = "speed" }) => [
    { name: "ways", label: "What is wanted", kind: "choice", start: "speed", options: [{ value: "speed", text: "Surface speed" }, { value: "rpm", text: "Spindle rpm" }] },
    { name: "diameter", label: "Diameter", unit: LENGTH },
    ways === "rpm" ? { name: "speed", label: "Surface speed", unit: ["ft/min", "m/min"] } : { name: "rpm", label: "Spindle speed", unit: "rpm" },
  ],
  work(given, units) {
    const made = given.ways === "rpm" ? { name: "Spindle speed", value: rpmFor(given.speed, given.diameter, units), unit: "rpm", places: 0 }
      : { name: "Surface speed", value: surfaceSpeed(given.diameter, given.rpm, units), unit: units === "us" ? "ft/min" : "m/min", places: 1 };
    return { figures: [made], said: given.ways === "rpm" ? ["Never above what the wheel, chuck or cutter is marked for."] : [],
      sure: "Exact for the figures typed; a loaded spindle turns a little slower than its plate says.", sources: ["Plain geometry: π times diameter times turns."] };
  },
};

/** @type {Sum} */
export const gap = {
  title: "Grinder gaps", group: "Turning, grinding, sanding", short: "Work rest and tongue guard", cautions: ["grinder_gaps", "lock_out"],
  meant: "Measured with the wheel stopped and the power locked off, at the nearest point of the wheel as it is worn now.",
  fields: () => [{ name: "rest", label: "Gap of the work rest", unit: LENGTH }, { name: "tongue", label: "Gap of the tongue guard", unit: LENGTH }],
  work(given, units) {
    const { rest, tongue } = gaps(given.rest, given.tongue, units);
    const most = (/** @type {Limit} */ one) => `at most ${figure(one.limit, 3)} ${one.unit}`;
    return {
      figures: [held(`Work rest, ${most(rest)}`, rest, "at or below the limit", "above the limit"), held(`Tongue guard, ${most(tongue)}`, tongue, "at or below the limit", "above the limit")],
      said: [rest.why, tongue.why], sure: "The limits are the regulation's own figures; the measuring is yours. Other countries' rules may be tighter.", sources: [rest.source, tongue.source],
    };
  },
};

/** @type {Sum} */
export const wheel = {
  title: "Wheel rating and flange", group: "Turning, grinding, sanding", short: "Spindle speed against the mark on the wheel", cautions: ["grinder_gaps"],
  meant: "The rpm on the grinder's plate against the rpm marked on the wheel, before it is mounted. Ring-test the wheel; never mount a cracked one.",
  fields: () => [
    { name: "diameter", label: "Wheel's diameter", unit: LENGTH }, { name: "rpm", label: "Spindle speed, by the plate", unit: "rpm" },
    { name: "marked", label: "Highest speed marked on the wheel", unit: "rpm" }, { name: "flange", label: "Flange's diameter", unit: LENGTH, optional: true },
  ],
  work(given, units) {
    const found = wheelSpeed(given.diameter, given.rpm, given.marked, units);
    const plate = given.flange === null ? null : flange(given.diameter, given.flange, units);
    return {
      figures: [{ name: `Spindle speed, wheel marked ${figure(given.marked, 0)} rpm`, value: given.rpm, unit: "rpm", places: 0, verdict: found.over ? "stop" : "within", word: found.over ? "above the mark" : "at or below the mark" },
        { name: "Surface speed now", value: found.value, unit: found.unit, places: 0 }, { name: "Surface speed at the mark", value: found.limit, unit: found.unit, places: 0 },
        ...(plate ? [held(`Flange, at least ${figure(plate.limit, 3)} ${plate.unit}`, plate, "at or above one third", "below one third")] : [])],
      said: [found.why, ...(plate ? [plate.why] : [])], sure: "A comparison of two marked figures. It says nothing of a wheel that is cracked, wet or old.", sources: [found.source, ...(plate ? [plate.source] : [])],
    };
  },
};

const SANDED = ["carbon steel", "stainless", "aluminium", "brass", "copper", "titanium", "cast iron"].map((value) => ({ value, text: `${value.charAt(0).toUpperCase()}${value.slice(1)}` }));

/** A speed beside a printed one. @param {number} value @param {{ low: number, high: number }} printed @returns {{ mark: import("./sum.js").Verdict, word: string }} */
function beside(value, { low, high }) {
  if (value > high) return { mark: "look", word: "this belt is faster" };
  return value < low ? { mark: "look", word: "this belt is slower" } : { mark: "within", word: "this belt is inside" };
}

/** @type {Sum} */
export const belt = {
  title: "Belt speed", group: "Turning, grinding, sanding", short: "Against its rating, and for a metal", cautions: ["sanding"],
  meant: "The belt runs as fast as the rim of the wheel that drives it. The rating stands on the belt's back or in its maker's list.",
  fields: () => [
    { name: "diameter", label: "Drive wheel's diameter", unit: LENGTH }, { name: "rpm", label: "Drive wheel's speed", unit: "rpm" },
    { name: "rated", label: "Belt's highest speed", unit: ["ft/min", "m/s"] }, { name: "material", label: "Metal", kind: "select", options: SANDED, start: "stainless" },
  ],
  work(given, units) {
    const found = beltSpeed(given.diameter, given.rpm, given.rated, units);
    const advice = beltAdvice(given.material, units);
    const light = ["aluminium", "titanium"].includes(given.material);
    const span = (/** @type {{ low: number, high: number }} */ { low, high }) => (low === high ? figure(low, 1) : `${figure(low, 1)} to ${figure(high, 1)}`);
    return {
      figures: [{ name: `Belt speed, rated ${figure(found.limit, 1)} ${found.unit}`, value: found.value, unit: found.unit, places: 1, verdict: found.over ? "stop" : "within", word: found.over ? "above the rating" : "at or below the rating" }],
      said: [found.why],
      lists: [{ name: `Speeds in print for ${given.material}`, rows: advice.map((one) => ({ lead: `${span(one)} ${one.unit}`, ...beside(found.value, one), notes: [`${one.what.charAt(0).toUpperCase()}${one.what.slice(1)}; printed: ${one.printed}.`], source: one.source })) }],
      sure: "The speed is exact for the figures typed. The tables for metals differ widely: they are where to begin.",
      sources: [found.source], cautions: light ? ["light_metal_dust"] : [],
    };
  },
};

/** @type {Sum} */
export const mixed = {
  title: "Metals in one dust", group: "Turning, grinding, sanding", short: "May this be sanded after that?", cautions: ["sanding"],
  meant: "Everything sanded into this collector, belt box or tray since it was last cleaned out to bare metal, and the metal to come.",
  fields: () => [
    { name: "last", label: "Sanded since the clean-out", kind: "text", optional: true, hint: "Names or numbers, with commas between: 304, C360 brass. Taken from the machine's batches where they say it; take out what was cleaned out since." },
    { name: "now", label: "About to be sanded", kind: "text", hint: "Such as 6061, or titanium." },
  ],
  work({ last, now }) {
    const before = String(last).split(",").map((one) => one.trim()).filter(Boolean);
    if (String(now).includes(",")) throw new Problem("now", "It names more than one metal.", "Ask for one at a time.");
    const found = dust(before, String(now).trim());
    const mark = /** @type {import("./sum.js").Verdict} */ (found.caution ? "stop" : found.unknown.length ? "look" : "within");
    const word = { stop: "must not meet", look: "not known", within: "none in this list" }[mark];
    return { figures: [{ name: "Metals that must not meet", value: found.between.length ? found.between.join(" and ") : found.unknown.length ? "not known" : "none", verdict: mark, word }],
      said: [found.why], sure: "It goes by the names typed and knows steel and rust against light metals only. Magnesium and wet collectors have rules of their own.",
      sources: [found.source], cautions: found.caution ? [found.caution] : [] };
  },
};
