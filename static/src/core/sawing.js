// The saw: how wide it cuts, teeth in the cut, pitch, breaking a blade in, band tension.
// Twin of webapp/core/sawing.py, held to tests/vectors/sawing.json. Areas and blanks are in sections.js.
import { aboveZero, fromZero, isUs, known } from "./figures.js";
import { say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";
import { area } from "./sections.js";

/**
 * @typedef {{travel: number, average: number, widest: number, wall: number|null}} Widths
 * @typedef {{pitch: string, fewest: number, most: number, verdict: "too few"|"within"|"many", why: string, source: string}} Teeth
 * @typedef {{size: string, teeth: Teeth[], source: string}} Pitches
 * @typedef {{stage: "break-in"|"ease up"|"done", share: number, left: number, unit: string, why: string,
 *   source: string, others: string[]}} BreakIn
 * @typedef {{leg: number, both: number, usual_low: number, usual_high: number, unit: string,
 *   verdict: "below"|"within"|"above", why: string, source: string}} Tension
 */

const FEWEST_TEETH = 3;
const USUAL_MOST = 14;
export const TEETH_SOURCE = "fsmdirect.com: no fewer than 3 teeth in the cut, no more than 10 to 14";
export const MH31 = "Machinery's Handbook, 31st edition, p. 1245";
export const MANUAL = "a band-saw maker's manual (manualshive.com, BS-13LS, p. 10)";
const CHART = "a blade seller's chart by size (sawblade.com)";
const SQ_IN_CM2 = 6.4516;
const PSI_MPA = 0.006894757293168;

/** @type {[string, [number, string][]][]} Stock (in) and pitch (teeth per inch), as the two tables print them. */
const BY_POINT = [
  [MH31, [[0.25, "10/14"], [0.75, "6/10"], [1.25, "4/6"], [4, "3/4"], [8, "2/3"]]],
  [MANUAL, [[0.25, "10/14"], [0.75, "6/10"], [1.25, "5/8"], [2.5, "4/6"], [4, "3/4"], [8, "2/3"]]],
];
/** @type {[number, string, string[]][]} */
const BY_RANGE = [
  [1, "up to 1 in", ["10/14", "8/12"]],
  [3, "over 1 to 3 in", ["8/12", "6/10", "5/8"]],
  [6, "over 3 to 6 in", ["5/8", "4/6", "3/4"]],
  [Infinity, "over 6 in", ["3/4", "2/3", "1.5/1.9", "1.1/1.4"]],
];
/** @type {Record<string, [number, number, number]>} Usual stress and the most taken for within, in psi. */
const STRESS = { carbon: [15000, 20000, 20000], bimetal: [25000, 30000, 35000] };
const TENSION_SOURCE = "forrestmfg.com: carbon 15,000 to 20,000 psi, bimetal 25,000 to 30,000, at most 35,000";
const BREAK_IN_FROM = 50;
const BREAK_IN_TO = 100;
const BREAK_IN_SOURCE = "amadamca.com: half feed and half speed for the first 50 to 100 sq in, then up by steps";
const BREAK_IN_OTHERS = [
  "wikusnews.com: full band speed; half the cutting rate (three quarters in hard metals), up over 50 to 75 sq in",
  "manualslib.com, manual of a 10 in cold saw: half feed pressure for 50 sq in of steel, 150 sq in of aluminium",
];
/** @type {Record<string, string>} */
const TEETH_ADVICE = {
  "too few": "Fewer than 3 catch on the edge and strip: take a finer pitch.",
  within: "At least 3, and not more than the usual most of 14 at the coarse end.",
  many: "More than the usual most of 14: gullets fill, take a coarser pitch.",
};
/** @type {Record<string, string>} */
const TENSION_WHY = {
  below: "Below the usual range: the band wanders and cuts out of square.",
  within: "Within the usual range.",
  above: "Above the usual most: the band or its weld may part.",
};
/** @type {Record<string, string>} The measure that the band goes down through. */
const DOWN = { round: "diameter", square: "side", tube: "outside", hex: "flats", plate: "thickness", rectangle: "height", box: "height" };

/**
 * How wide the cut is as the band goes down through the section, its first measure lying flat.
 * @param {string} shape
 * @param {Record<string, number>} measures
 * @returns {Widths}
 */
export function cutWidths(shape, measures) {
  const whole = area(shape, measures);
  const travel = measures[DOWN[shape]];
  const hollow = shape === "tube" || shape === "box";
  let widest = measures.width ?? travel;
  if (!["plate", "rectangle", "box"].includes(shape)) widest = shape === "hex" ? (travel * 2) / Math.sqrt(3) : travel;
  // Widest where the band just touches the bore.
  if (shape === "tube") widest = 2 * Math.sqrt(measures.wall * (travel - measures.wall));
  const wall = hollow ? tidy(measures.wall) : null;
  return { travel: tidy(travel), average: tidy(whole / travel), widest: tidy(widest), wall };
}

/** @param {number} width @param {string} units */
const inInches = (width, units) => aboveZero(width, "width", isUs(units) ? 1000 : 25400) / (isUs(units) ? 1 : 25.4);

/**
 * Teeth that stand in a cut `width` wide (in or mm). `pitch` is teeth per inch: "10", or "4/6" when it varies.
 * @param {number} width
 * @param {string} pitch
 * @param {string} units
 * @returns {Teeth}
 */
export function teethInCut(width, pitch, units) {
  const inches = inInches(width, units);
  const [low, high] = ends(pitch);
  const [fewest, most] = [tidy(inches * low, 4), tidy(inches * high, 4)];
  const verdict = fewest < FEWEST_TEETH ? "too few" : fewest > USUAL_MOST ? "many" : "within";
  const count = fewest === most ? say(fewest) : `${say(fewest)} to ${say(most)}`;
  return { pitch: pitch.replaceAll(/\s/g, ""), fewest, most, verdict, why: `${count} teeth in the cut. ${TEETH_ADVICE[verdict]}`, source: TEETH_SOURCE };
}

/** The coarse and the fine end of a pitch. @param {unknown} pitch @returns {[number, number]} */
function ends(pitch) {
  const found = typeof pitch === "string" ? /^\s*(\d+(?:\.\d+)?)(?:\s*\/\s*(\d+(?:\.\d+)?))?\s*$/.exec(pitch) : null;
  const one = found ? Number(found[1]) : 0;
  const two = found?.[2] ? Number(found[2]) : one;
  const [low, high] = [Math.min(one, two), Math.max(one, two)];
  if (!found || low < 0.5 || high > 50) {
    throw new Problem("pitch", `"${pitch}" is no pitch.`, "Give teeth per inch as printed on the blade, 10 or 4/6.");
  }
  return [low, high];
}

/**
 * The pitch that each source gives for a cut of this width (in or mm), and the teeth it puts in the cut.
 * @param {number} width
 * @param {string} units
 * @returns {Pitches[]}
 */
export function pitchAdvice(width, units) {
  const inches = inInches(width, units);
  const rows = BY_POINT.map(([source, points]) => {
    let [size, pitch] = points[0];
    for (const [further, finer] of points.slice(1)) {
      // The nearest printed size by ratio: past the geometric mean of two the larger is nearer.
      if (inches * inches > size * further) [size, pitch] = [further, finer];
    }
    return { size: `${say(size)} in`, teeth: [teethInCut(inches, pitch, "us")], source };
  });
  const [, words, pitches] = BY_RANGE.find(([most]) => inches <= most) ?? BY_RANGE[BY_RANGE.length - 1];
  rows.push({ size: words, teeth: pitches.map((pitch) => teethInCut(inches, pitch, "us")), source: CHART });
  return rows;
}

/**
 * Where a new blade stands after `cut` sq in ("us") or cm2 ("metric") since it was fitted.
 * @param {number} cut
 * @param {string} units
 * @returns {BreakIn}
 */
export function breakIn(cut, units) {
  const [factor, unit] = isUs(units) ? [1, "sq in"] : [SQ_IN_CM2, "cm2"];
  const done = fromZero(cut, "cut", 1000000000) / factor;
  const left = tidy(Math.max(BREAK_IN_TO - done, 0) * factor, 4);
  const kept = { unit, source: BREAK_IN_SOURCE, others: BREAK_IN_OTHERS };
  if (done >= BREAK_IN_TO) return { stage: "done", share: 1, left: 0, why: "Broken in: normal speed and feed.", ...kept };
  if (done < BREAK_IN_FROM) {
    return { stage: "break-in", share: 0.5, left, why: "New teeth chip: half the normal speed and half the feed.", ...kept };
  }
  const share = tidy(0.5 + (0.5 * (done - BREAK_IN_FROM)) / (BREAK_IN_TO - BREAK_IN_FROM), 2);
  return { stage: "ease up", share, left, why: `Raise speed and feed by steps: about ${say(share * 100)} % of normal now.`, ...kept };
}

/**
 * The force that a stress makes in a band: stress x width x thickness in each leg; the tensioner bears two.
 * us: in, psi, lbf; metric: mm, MPa, N.
 * @param {number} width
 * @param {number} thickness
 * @param {number} stress
 * @param {string} blade "carbon" or "bimetal"
 * @param {string} units
 * @returns {Tension}
 */
export function tension(width, thickness, stress, blade, units) {
  const us = isUs(units);
  const [low, high, most] = STRESS[known(blade, "blade", Object.keys(STRESS))];
  const [scale, unit] = us ? [1, "lbf"] : [PSI_MPA, "N"];
  aboveZero(width, "width", us ? 10 : 254);
  aboveZero(thickness, "thickness", us ? 1 : 25.4);
  aboveZero(stress, "stress", us ? 200000 : 1400);
  const section = width * thickness;
  const psi = tidy(stress / scale, 4);
  const verdict = psi < low ? "below" : psi > most ? "above" : "within";
  const leg = stress * section;
  return {
    leg: tidy(leg, 4),
    both: tidy(2 * leg, 4),
    usual_low: tidy(low * scale * section, 4),
    usual_high: tidy(high * scale * section, 4),
    unit,
    verdict,
    why: TENSION_WHY[verdict],
    source: TENSION_SOURCE,
  };
}
