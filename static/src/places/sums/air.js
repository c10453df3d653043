// Bench sums of air and blast: nozzle against compressor, the worn nozzle, pump-up and leak tests by the stopwatch.
import { against, atmosphereAt, leakByDecay, nozzleAir, nozzleWear, pumpUp, receiverEnergy } from "../../core/air.js";
import { LENGTH } from "./saw.js";

/** @typedef {import("./sum.js").Sum} Sum @typedef {import("./sum.js").Field} Field */

const PRESSURE = /** @type {[string, string]} */ (["psi", "bar"]);
const FLOW = /** @type {[string, string]} */ (["cfm", "L/min"]);
const VOLUME = /** @type {[string, string]} */ (["gal", "L"]);
/** @type {Field} */
const KIND = { name: "kind", label: "Opening", kind: "choice", start: "blast", options: [
  { value: "blast", text: "Blast nozzle", note: "media goes through it" }, { value: "jet", text: "Air jet", note: "of a suction gun" },
  { value: "rounded", text: "Rounded hole" }, { value: "sharp", text: "Sharp-edged hole", note: "a leak, a drilled hole" }] };
/** @type {Field} */
const HEIGHT = { name: "height", label: "Height above the sea", unit: ["ft", "m"], optional: true, hint: "The air is thinner high up." };
/** The air outside, in kPa; null at sea level. @param {number | null} height @param {"us" | "metric"} units */
const outside = (height, units) => (height === null ? null : atmosphereAt(height, units));
const MODEL = "Choked flow of an ideal gas at 70 °F (21 °C), with a discharge coefficient: ";

/** @type {Sum} */
export const nozzle = {
  title: "Nozzle against compressor", group: "Air and blast", short: "What a nozzle draws, what is delivered", cautions: ["blasting", "compressed_air"],
  meant: "The bore by drill shank or pin gauge, the pressure at the nozzle while it blows. The compressor's delivered air stands on its plate for one pressure; better is the pump-up test.",
  fields: () => [{ name: "bore", label: "Bore", unit: LENGTH }, { name: "pressure", label: "Pressure while it blows", unit: PRESSURE }, KIND,
    { name: "delivered", label: "Compressor delivers", unit: FLOW, optional: true }, HEIGHT],
  work({ bore, pressure, kind, delivered, height }, units) {
    const { air, unit, choked, coefficient, source } = nozzleAir(bore, pressure, kind, units, outside(height, units));
    const supply = delivered === null ? null : against(air, delivered, units);
    /** @type {Record<string, [import("./sum.js").Verdict, string]>} */
    const marks = { short: ["stop", "too little"], tight: ["look", "enough, with less than half in reserve"], enough: ["within", "enough, with half in reserve"] };
    return {
      figures: [{ name: "Air drawn", value: air, unit, places: 1 },
        ...(supply ? [{ name: "Of what is delivered", value: supply.share, unit: "%", places: 0, verdict: marks[supply.verdict][0], word: marks[supply.verdict][1] },
          { name: "Wanted with half as much again", value: supply.wanted, unit, places: 1 }] : [])],
      said: [...(supply ? [supply.why] : ["Give what the compressor delivers to see whether it is enough."]), ...(choked ? [] : ["The pressure is too low to choke the opening: the figure hangs on the pressure at the nozzle itself."])],
      sure: `Free air. ${kind === "blast" || kind === "jet" ? `It meets a printed table within ${kind === "blast" ? 7 : 4} %; other tables differ by more.` : "A hole's edge alone changes it by a third."}`,
      sources: [`${MODEL}${coefficient}, ${source}`, ...(supply ? [supply.source] : [])],
    };
  },
};

/** @type {Sum} */
export const worn = {
  title: "Worn nozzle", group: "Air and blast", short: "What a grown bore costs in air", cautions: ["blasting", "compressed_air"],
  meant: "Both bores with the same pins, at the throat. The pressure is the one at the nozzle while it blows.",
  fields: () => [{ name: "bore", label: "Bore when new", unit: LENGTH }, { name: "now", label: "Bore now", unit: LENGTH }, { name: "pressure", label: "Pressure while it blows", unit: PRESSURE }, KIND],
  work({ bore, now, pressure, kind }, units) {
    const found = nozzleWear(bore, now, pressure, kind, units);
    return {
      figures: [{ name: "More air than when new", value: found.extra, unit: found.unit, places: 1, verdict: found.worn_out ? "look" : "within", word: found.worn_out ? "grown by 1/16 in: a new one" : "grown by less than 1/16 in" },
        { name: "Air when new", value: found.before, unit: found.unit, places: 1 }, { name: "Air now", value: found.now, unit: found.unit, places: 1 }],
      said: [found.why], sure: "The ratio of the two bores is exact; the air itself meets printed tables within 7 %.", sources: [found.source, `${MODEL}see Nozzle against compressor.`],
    };
  },
};

/** @type {Field[]} */
const TEST = [
  { name: "volume", label: "Receiver and pipes", unit: VOLUME, hint: "The receiver's plate, and pipes up to the shut valve." },
  { name: "start", label: "Pressure at the start", unit: PRESSURE }, { name: "end", label: "Pressure at the end", unit: PRESSURE },
  { name: "seconds", label: "Time taken", unit: "s", kind: "seconds" },
];

/** What stands in the receiver at the higher pressure, said with every test. @param {number} volume @param {number} pressure @param {"us" | "metric"} units */
function stored(volume, pressure, units) {
  const { kj, why, source } = receiverEnergy(volume, pressure, units);
  return { figure: { name: "Held in the receiver at the top", value: kj, unit: "kJ", places: 0 }, why: `Stored energy: ${why}`, source };
}

/** @type {Sum} */
export const pump = {
  title: "Pump-up test", group: "Air and blast", short: "What the compressor delivers, by stopwatch", cautions: ["pressure"],
  meant: "Shut the outlet, let the pressure fall below the cut-in, start the watch at one mark of the gauge and stop it at another, both below the cut-out. A cool receiver; three runs and their mean.",
  fields: () => [...TEST, HEIGHT],
  work({ volume, start, end, seconds, height }, units) {
    const found = pumpUp(volume, start, end, seconds, units, outside(height, units));
    const held = stored(volume, end, units);
    return { figures: [{ name: "Delivered free air", value: found.air, unit: found.unit, places: 1 }, held.figure], said: [found.why, held.why],
      sure: "As good as gauge and watch: a gauge off by 2 psi in 30 is off by 7 %.", sources: [found.source, held.source] };
  },
};

/** @type {Sum} */
export const leak = {
  title: "Leak test", group: "Air and blast", short: "What leaks away, by stopwatch", cautions: ["pressure"],
  meant: "Everything pumped up, the compressor off, nothing drawn. Start the watch at one mark of the gauge and stop it some pounds lower.",
  fields: () => [...TEST, { name: "delivered", label: "Compressor delivers", unit: FLOW, optional: true, hint: "For the share that leaks." }, HEIGHT],
  work({ volume, start, end, seconds, delivered, height }, units) {
    const found = leakByDecay(volume, start, end, seconds, units, delivered, outside(height, units));
    const held = stored(volume, start, units);
    const lots = (found.share ?? 0) > 10;
    return { figures: [{ name: "Leaks", value: found.air, unit: found.unit, places: 2 },
      ...(found.share === null ? [] : [{ name: "Of what is delivered", value: found.share, unit: "%", places: 1, verdict: /** @type {import("./sum.js").Verdict} */ (lots ? "look" : "within"), word: lots ? "above 10 %" : "10 % or less" }]), held.figure],
      said: [found.why, held.why], sure: "It is the leak in the middle of the fall: at working pressure a little more leaks.", sources: [found.source, held.source] };
  },
};
