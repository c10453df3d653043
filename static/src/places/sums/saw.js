// Bench sums at the saw: cut area and blanks, teeth in the cut, band speed, band tension.
import { bandSpeed, metals } from "../../core/band-speeds.js";
import { Problem } from "../../core/problems.js";
import { TEETH_SOURCE, cutWidths, pitchAdvice, teethInCut, tension } from "../../core/sawing.js";
import { SHAPES, bundle, cutArea, part } from "../../core/sections.js";
import { figure } from "../../kit/numbers.js";

/** @typedef {import("./sum.js").Sum} Sum @typedef {import("./sum.js").Field} Field @typedef {import("./sum.js").Given} Given */

export const LENGTH = /** @type {[string, string]} */ (["in", "mm"]);
const SHAPE_WORDS = /** @type {Record<string, string>} */ ({ round: "Round bar", square: "Square bar", plate: "Plate or flat", tube: "Tube", hex: "Hexagon", rectangle: "Rectangle", box: "Box section" });
const MEASURE_WORDS = /** @type {Record<string, string>} */ ({ diameter: "Diameter", side: "Side", width: "Width, lying flat", thickness: "Thickness", outside: "Outside diameter", height: "Height", wall: "Wall", flats: "Across flats" });
const GEOMETRY = "Plain geometry; a hexagon is 0.866 times its flats squared";

/** @returns {Field} */
const shapeField = () => ({ name: "shape", label: "Section", kind: "select", start: "round", options: Object.keys(SHAPES).map((value) => ({ value, text: SHAPE_WORDS[value] })) });

/** The measures that the chosen shape needs. @param {Record<string, string>} typed @returns {Field[]} */
const measureFields = (typed) => (SHAPES[typed.shape ?? "round"] ?? []).map((name) => ({ name, label: MEASURE_WORDS[name], unit: LENGTH }));

/** @param {Given} given */
const measuresOf = (given) => Object.fromEntries((SHAPES[given.shape] ?? []).map((name) => [name, given[name]]));

/** Lengths of a metric shop are typed in mm; areas are read in cm². @param {number} area @param {boolean} us */
const areaIn = (area, us) => (us ? area : area / 100);

/** @type {Sum} */
export const area = {
  title: "Cut area and blanks", group: "Saw", short: "Area of a cut, blanks from a bar", cautions: ["hot_chips"],
  meant: "Kerf is the width of the cut itself: measure the slot. End loss is trimmed off the raw end by a cut of its own; the vice rest is the shortest stub it still holds.",
  fields: (typed) => [
    shapeField(), ...measureFields(typed), { name: "pieces", label: "Pieces in the vice", whole: true, start: "1" },
    { name: "bar", label: "Bar length", unit: LENGTH, optional: true, hint: "For blanks: bar and blank length." },
    { name: "blank", label: "Blank length", unit: LENGTH, optional: true }, { name: "kerf", label: "Kerf", unit: LENGTH, optional: true },
    { name: "end_loss", label: "End loss", unit: LENGTH, start: "0" }, { name: "grip", label: "Vice rest", unit: LENGTH, start: "0" },
  ],
  work(given, units) {
    const us = units === "us";
    const [square, unit] = [areaIn(bundle(given.shape, measuresOf(given), given.pieces), us), us ? "sq in" : "cm²"];
    const base = { sure: "Exact for the measures as typed; corners are taken as square, weld seams left out.", sources: [GEOMETRY] };
    const cut = { name: given.pieces > 1 ? `One cut through ${figure(given.pieces)} pieces` : "One cut", value: square, unit, places: 3 };
    if (given.bar === null && given.blank === null) return { figures: [cut], ...base };
    for (const [name, what] of [["bar", "bar's length"], ["blank", "blank's length"], ["kerf", "width of the cut, or 0"]]) {
      if (given[name] === null) throw new Problem(name, "It is empty.", `Give the ${what}.`);
    }
    const { blanks, cuts, left_over: rest } = part(given.bar, given.blank, given.kerf, given.end_loss, given.grip);
    return {
      figures: [{ name: given.pieces > 1 ? "Blanks from each bar" : "Blanks from the bar", value: blanks, places: 0 }, { name: "Cuts", value: cuts, places: 0 },
        { name: "Left over", value: rest, unit: us ? "in" : "mm" }, cut, { name: "Cut area of all cuts", value: cutArea(cuts, square), unit, places: 1 }],
      ...base,
    };
  },
};

/** @type {Record<string, { mark: import("./sum.js").Verdict, word: string }>} */
const TEETH = { "too few": { mark: "stop", word: "too few" }, within: { mark: "within", word: "3 to 14" }, many: { mark: "look", word: "many" } };

/** Where the band stands in the section, and how wide the cut is there. @param {Given} given @returns {[string, number][]} */
function places(given) {
  const { average, widest, wall } = cutWidths(given.shape, measuresOf(given));
  if (wall !== null) return [["Through one wall", wall], ["On average", average], ["At its widest", widest]];
  return widest === average ? [["All the way", average]] : [["On average", average], ["At its widest", widest]];
}

/** @type {Sum} */
export const teeth = {
  title: "Teeth in the cut", group: "Saw", short: "Is the pitch right for this stock?", cautions: ["blade_change"],
  meant: "Teeth that stand in the metal at once: the width of the cut times the teeth per inch. A tube is thinnest where the band goes through one wall; that place decides. The average width is the area by the way down.",
  fields: (typed) => [shapeField(), ...measureFields(typed), { name: "pitch", label: "Pitch of the blade", kind: "text", optional: true, unit: "teeth per inch", hint: "As printed on it: 10, or 4/6." }],
  work(given, units) {
    const us = units === "us";
    const at = places(given);
    const [where, width] = at[0];
    const advice = pitchAdvice(width, units);
    const list = { name: `Pitches in print for ${figure(width, us ? 3 : 1)} ${us ? "in" : "mm"} (${where.toLowerCase()})`,
      rows: advice.flatMap(({ size, teeth: each, source }) => each.map((one) => ({ lead: one.pitch, mark: TEETH[one.verdict].mark, word: `${range(one)} teeth, ${TEETH[one.verdict].word}`, notes: [`Printed for ${size}.`], source }))) };
        const found = given.pitch.trim() ? at.map(([name, wide]) => ({ name, wide, ...teethInCut(wide, given.pitch, units) })) : [];
    const wrong = found.filter(({ verdict }) => verdict !== "within");
    return {
      figures: found.length ? found.map((one) => ({ name: one.name, value: range(one), unit: "teeth", verdict: TEETH[one.verdict].mark, word: TEETH[one.verdict].word }))
        : [{ name: where, value: width, unit: us ? "in" : "mm", places: us ? 3 : 1 }],
      said: wrong.length ? wrong.map(({ name, why }) => `${name}: ${why}`) : found.length ? ["At least 3 everywhere, and not more than the usual most of 14 at the coarse end."] : ["Give the pitch of the blade to count its teeth."],
      lists: [list], sure: "The count is plain arithmetic. The rule of 3 to 14 teeth and the tables are makers' advice, and they differ.",
      sources: [TEETH_SOURCE],
    };
  },
};

/** @param {{ fewest: number, most: number }} teeth */
const range = ({ fewest, most }) => (fewest === most ? figure(fewest, 1) : `${figure(fewest, 1)} to ${figure(most, 1)}`);

const STAINLESS = new Set("302 303 304 316 321 347 410 416 420".split(" "));

/** A metal as people know it: UNS numbers for copper alloys, AISI for steels. @param {string} key */
export function metalWords(key) {
  if (STAINLESS.has(key)) return `Stainless ${key}`;
  if (/^11\d\d$/.test(key)) return `Steel ${key}`;
  if (/^\d{3,4}$/.test(key)) return `Copper alloy C${key.padEnd(5, "0")}`;
  return `${key.charAt(0).toUpperCase()}${key.slice(1)}`;
}

const METALS = metals().map((value) => ({ value, text: metalWords(value) })).sort((a, b) => a.text.localeCompare(b.text));

/** @type {Sum} */
export const band = {
  title: "Band speed", group: "Saw", short: "Speed for metal, size, blade and coolant", cautions: ["hot_chips"],
  meant: "The speed of the band for this metal and length of cut. Start at the low end, listen, and look at the chips: a curl is right, powder is too slow a feed, blue chips are too fast a band (common practice, no source).",
  fields: () => [
    { name: "metal", label: "Metal", kind: "select", options: METALS, start: "304", hint: "An alloy that is not here stands in no table: take its metal in general, such as hard brass." },
    { name: "size", label: "Length of the cut", unit: LENGTH, hint: "How wide the stock is where the band goes through." },
    { name: "coolant", label: "Coolant", kind: "choice", start: "wet", options: [{ value: "wet", text: "With coolant" }, { value: "dry", text: "Dry" }] },
    { name: "blade", label: "Blade", kind: "choice", start: "bimetal", options: [{ value: "bimetal", text: "Bimetal" }, { value: "carbon", text: "Carbon steel" }] },
  ],
  work({ metal, size, coolant, blade }, units) {
    const rows = bandSpeed(metal, size, units, coolant === "dry", blade === "carbon");
    const span = (/** @type {{ low: number, high: number }} */ { low, high }) => (low === high ? figure(low, 0) : `${figure(low, 0)} to ${figure(high, 0)}`);
    const [low, high] = [Math.min(...rows.map((one) => one.low)), Math.max(...rows.map((one) => one.high))];
    return {
      figures: [{ name: rows.length > 1 ? "Lowest to highest of the tables" : "Band speed", value: span({ low, high }), unit: rows[0].unit }],
      lists: [{ name: "Speeds in print", rows: rows.map((one) => ({ lead: `${span(one)} ${one.unit}`, notes: [`Printed: ${one.printed}.`, `Changed by: ${one.changes.join("; ") || "nothing"}.`], source: one.source })) }],
      said: [...(rows.some((one) => one.printed.includes("not given")) ? ["One table gives no change for size: it is shown as printed."] : []),
        ...(coolant === "wet" && rows.some((one) => one.printed.includes(" dry")) ? ["One table is for dry cutting and says nothing of coolant."] : [])],
      sure: rows.length > 1 ? "The tables differ; each is shown with its own corrections. The blade maker's figure comes before them." : "One table only. The blade maker's figure comes before it.",
      sources: ["each beside its speed"],
    };
  },
};

/** @type {Sum} */
export const pull = {
  title: "Band tension", group: "Saw", short: "What the tensioner bears", cautions: ["blade_change"],
  meant: "A gauge on the band shows stress; times the band's section that is the pull in one leg, and the tensioner bears both.",
  fields: () => [
    { name: "width", label: "Width of the band", unit: LENGTH }, { name: "thickness", label: "Thickness of the band", unit: LENGTH },
    { name: "stress", label: "Stress by the gauge", unit: ["psi", "MPa"] },
    { name: "blade", label: "Blade", kind: "choice", start: "bimetal", options: [{ value: "bimetal", text: "Bimetal" }, { value: "carbon", text: "Carbon steel" }] },
  ],
  work({ width, thickness, stress, blade }, units) {
    const { leg, both, usual_low: low, usual_high: high, unit, verdict, why, source } = tension(width, thickness, stress, blade, units);
    /** @type {Record<string, [import("./sum.js").Verdict, string]>} */
    const marks = { below: ["look", "below the usual"], within: ["within", "within the usual"], above: ["stop", "above the usual most"] };
    return {
      figures: [{ name: "Pull in one leg", value: leg, unit, places: 0, verdict: marks[verdict][0], word: marks[verdict][1] }, { name: "On the tensioner", value: both, unit, places: 0 },
        { name: "Usual, one leg", value: `${figure(low, 0)} to ${figure(high, 0)}`, unit }],
      said: [why], sure: "Arithmetic on the gauge's reading, and as good as the gauge. The band maker's figure comes first.", sources: [source],
    };
  },
};
