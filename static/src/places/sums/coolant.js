// Bench sums of coolant: strength by refractometer, and a dilution whose 1:20 is asked for its meaning.
import { ZERO_TOLERANCE, readStrength } from "../../core/coolant.js";
import { percentOf, ratio, readingFor, topUp } from "../../core/mix.js";
import { Problem } from "../../core/problems.js";
import { figure } from "../../kit/numbers.js";

/** @typedef {import("./sum.js").Sum} Sum */

/** @type {Sum} */
export const strength = {
  title: "Refractometer strength", group: "Coolant", short: "Reading times factor, zero checked", cautions: ["coolant_skin"],
  meant: "Zero on clean water first, then a drop from the nozzle, tramp oil left behind. The factor stands on the concentrate's data sheet.",
  fields: () => [
    { name: "reading", label: "Refractometer", unit: "Brix" }, { name: "factor", label: "Factor", start: "1", hint: "1 where the scale already shows per cent." },
    { name: "zero", label: "On water it showed", unit: "Brix", optional: true }, { name: "percent", label: "Strength to aim at", unit: "%", optional: true },
  ],
  work({ reading, factor, zero, percent }) {
    const found = readStrength(reading, factor, zero);
    return {
      figures: [{ name: "Strength", value: found.percent, unit: "%", places: 1 }, ...(percent === null ? [] : [{ name: `Reading to aim at for ${figure(percent)} %`, value: readingFor(percent, factor), unit: "Brix", places: 1 }])],
      said: [found.zeroed ? `On water it showed 0 within ${figure(ZERO_TOLERANCE)}.` : "Zero not checked: a refractometer that is off on water is off by as much on coolant."],
      sure: `About ±0.5 % (common practice, no source): tramp oil blurs the line, and old coolant reads high. ${found.zeroed ? "" : "Less sure without the zero check."}`.trim(),
      sources: ["Reading times the data sheet's factor: 5 × 1.60 = 8 %, blog.commonwealthoil.com; 10 % ÷ 2.2 = 4.5 Brix, toweroil.com"],
    };
  },
};

/** @type {Sum} */
export const dilution = {
  title: "Dilution", group: "Coolant", short: "How much concentrate for a bucket, 8 % or 1:20", cautions: ["concentrate", "coolant_skin"],
  meant: "So much mix, made fresh. Water into the bucket first, then concentrate into the water, stirring.",
  fields: ({ mix = "" }, us) => [
    { name: "mix", label: "Strength or ratio", kind: "text", hint: "8, or 1:20 as some labels print it." },
    ...(/[:/]/.test(mix) ? [{ name: "meaning", label: "What the label means", kind: /** @type {const} */ ("choice"), options: meanings(mix), start: "" }] : []),
    { name: "volume", label: "Mix wanted", unit: ["gal", "L"] }, { name: "step", label: "Smallest mark on the jug", unit: ["gal", "L"], start: us ? "0.05" : "0.1" },
  ],
  work({ mix, meaning, volume, step }, units) {
    const percent = inMix(() => percentOf(mix, meaning || null));
    if (volume <= 0) throw new Problem("volume", "It is not a number above zero.", "Give how much mix is wanted.");
    if (step < 0) throw new Problem("step", "It is not a number of 0 or more.", "Give the smallest mark, or 0 for no rounding.");
    const made = inMix(() => topUp({ capacity: volume, level: 0, percent: 0, target: percent, step }));
    const unit = units === "us" ? "gal" : "L";
    return {
      figures: [{ name: "Water first", value: made.water, unit }, { name: "then concentrate, into the water", value: made.concentrate, unit }, { name: "That is", value: made.strength, unit: "%", places: 2 }],
      said: [...(Math.abs(made.strength - percent) > 0.005 ? [`${figure(percent)} % was asked for; the jug's marks give ${figure(made.strength)} %. Exactly it would be ${figure(made.exact_water, 3)} and ${figure(made.exact_concentrate, 3)} ${unit}.`] : []),
        ...(made.concentrate === 0 ? ["The concentrate is less than one mark of the jug: take a finer jug, or make more."] : [])],
      sure: "By volume, exact but for the jug. Read it on the refractometer before it is used.", sources: ["Per cent by volume. Labels use 1:20 for 1 part to 20 of water (1/21) and for 1 part in 20 (1/20): which, only the label says."],
    };
  },
};

/** Both meanings of a ratio, with their strengths; without them while it cannot be read. @param {string} text */
function meanings(text) {
  const words = { to: "1 part to the water", in: "1 part in the whole" };
  try {
    const { one_to: to, one_in: whole } = ratio(text);
    return [{ value: "to", text: words.to, note: `${figure(to)} %` }, { value: "in", text: words.in, note: `${figure(whole)} %` }];
  } catch {
    return [{ value: "to", text: words.to }, { value: "in", text: words.in }];
  }
}

/** The core calls what was typed by other names. @template T @param {() => T} work @returns {T} */
function inMix(work) {
  try {
    return work();
  } catch (error) {
    if (error instanceof Problem && (error.field === "target" || error.field === "ratio")) throw new Problem("mix", error.problem, error.mend);
    throw error;
  }
}
