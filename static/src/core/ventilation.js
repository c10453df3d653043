// Velocities, flows, what a hood captures, air changes and purge times; twin of webapp/core/ventilation.py, where
// formulas and sources are told; held to tests/vectors/ventilation.json. "us": fpm, ft2 (in for ducts and distances),
// cfm, ft3, inches of water; "metric": m/s, m2 (mm), m3/h, m3, Pa.
import { aboveZero, fromZero, isUs, known } from "./figures.js";
import { isNumber, say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{velocity: number, lowest: number, highest: number, flow: number|null, unit: string, flow_unit: string,
 *   even: boolean, why: string}} Traverse
 * @typedef {{mean: number, lowest: number, highest: number, under: number, flow: number|null, unit: string,
 *   word: string, why: string}} Face
 * @typedef {{word: "below"|"within"|"above", low: number, high: number|null, unit: string, todo: string,
 *   source: string}} Against
 * @typedef {{seconds: number, exact: number, changes: number, left: number, why: string, source: string}} PurgeTime
 * @typedef {{name: string, fpm: [number, number|null], metres: [number, number|null]}} Range
 */

const PITOT_FACTOR = 4005;
const FLANGE = 0.75;
const R = 287.05;
const KELVIN = 273.15;
const ATMOSPHERE_PA = 101325;
// Standard air is 0.075 lb/ft3, 1.2014 kg/m3: the air for which 4005 is printed.
const STANDARD = 1.2014;
/** @type {Record<string, {velocity: number, area: number, flow: number, length: number, pressure: number}>} */
const MOST = {
  us: { velocity: 50000, area: 10000, flow: 1000000000, length: 1200, pressure: 100 },
  metric: { velocity: 250, area: 1000, flow: 1000000000, length: 30000, pressure: 25000 },
};
const PURGE_SOURCE = "CDC 2003, Table B.1; MMWR 43 RR-13 (1994), Table S3-1, for the mixing factor of 1 to 10";
/** @type {Record<string, Record<number, number[]>>} Rules for points as printed, from one wall to the middle. */
const PRINTED = {
  "log-linear": { 6: [0.032, 0.135, 0.321], 8: [0.021, 0.117, 0.184, 0.345], 10: [0.019, 0.077, 0.153, 0.217, 0.361] },
  "log-Tchebycheff": { 5: [0.074, 0.288, 0.5], 6: [0.061, 0.235, 0.437], 7: [0.053, 0.203, 0.366, 0.5] },
};
/** @type {Record<string, Range>} How dust or fume gets away, and the capture velocities printed for it. */
export const CAPTURE_RANGES = {
  still: { name: "leaves with practically no speed, into quiet air", fpm: [50, 100], metres: [0.25, 0.5] },
  slow: { name: "leaves slowly, into fairly still air: welding", fpm: [100, 200], metres: [0.5, 1] },
  active: { name: "is driven out, into moving air: filling, crushing", fpm: [200, 500], metres: [1, 2.5] },
  thrown: { name: "is thrown out fast: grinding, abrasive blasting, tumbling", fpm: [500, 2000], metres: [2.5, 10] },
};
const CAPTURE_RANGE_SOURCE = "ACGIH Industrial Ventilation, table of capture velocities, as quoted in scribd.com 230630973 "
  + "and 506085071";
/** @type {Record<string, Range>} What a duct carries, and the least velocities printed for it. */
export const CARRIED = {
  fume: { name: "welding fume", fpm: [2000, 2500], metres: [10, 13] },
  light: { name: "very fine light dust", fpm: [2500, 3000], metres: [12, 15] },
  dry: { name: "dry dust and powder", fpm: [3000, 4000], metres: [15, 20] },
  grinding: { name: "grinding dust, dry buffing lint", fpm: [3500, 4000], metres: [18, 20] },
  heavy: { name: "metal turnings, brass turnings, blasting dust, lead dust", fpm: [4000, 4500], metres: [20, 23] },
  "heavy or moist": { name: "lead dust with small chips, sticky buffing lint", fpm: [4500, null], metres: [23, null] },
};
const CARRIED_SOURCE = "ACGIH Industrial Ventilation, minimum duct design velocities, as quoted by nordfab.com and scribd.com "
  + "230630973";

/** The opening of a round duct: in give ft2, mm give m2. @param {number} diameter @param {string} units */
export function ductArea(diameter, units) {
  const us = isUs(units);
  const across = aboveZero(diameter, "diameter", MOST[units].length) / (us ? 12 : 1000);
  return tidy((Math.PI / 4) * across ** 2);
}

/** A rectangular opening: in give ft2, mm give m2. @param {number} width @param {number} height @param {string} units */
export function openingArea(width, height, units) {
  const us = isUs(units);
  const square = aboveZero(width, "width", MOST[units].length) * aboveZero(height, "height", MOST[units].length);
  return tidy(square / (us ? 144 : 1000000));
}

/** Q = V A. @param {number} speed @param {number} area @param {string} units */
export function flow(speed, area, units) {
  const us = isUs(units);
  const found = aboveZero(speed, "velocity", MOST[units].velocity);
  return tidy(found * aboveZero(area, "area", MOST[units].area) * (us ? 1 : 3600), 2);
}

/** V = Q / A. @param {number} air @param {number} area @param {string} units */
export function velocity(air, area, units) {
  const us = isUs(units);
  const moved = aboveZero(air, "air", MOST[units].flow);
  return tidy(moved / aboveZero(area, "area", MOST[units].area) / (us ? 1 : 3600), 4);
}

/** Density of dry air in kg/m3. @param {number} celsius @param {number} [pascals] */
export function airDensity(celsius, pascals = ATMOSPHERE_PA) {
  if (!isNumber(celsius) || celsius < -50 || celsius > 500) {
    throw new Problem("celsius", "It is not between -50 and 500 C.", "Measure the air in the duct.");
  }
  if (!isNumber(pascals) || pascals < 50000 || pascals > 110000) {
    throw new Problem("pascals", "It is not between 50 000 and 110 000 Pa.", "Read the station pressure.");
  }
  return tidy(pascals / (R * (celsius + KELVIN)), 4);
}

/**
 * Velocity from one velocity pressure, at `density` (kg/m3) or in standard air.
 * @param {number} pressure
 * @param {string} units
 * @param {number|null} [density]
 */
export function pitotVelocity(pressure, units, density = null) {
  const us = isUs(units);
  const found = fromZero(pressure, "pressure", MOST[units].pressure);
  return tidy(pitot(found, us, densityOf(density)), 4);
}

/**
 * Where to hold a pitot tube, as shares of the way from one wall to the other.
 * @param {number} points
 * @param {string} rule "log-linear" or "equal areas" (round), "log-Tchebycheff" (each side of a rectangle)
 */
export function traversePoints(points, rule) {
  /** @type {number[]} */
  let half;
  if (known(rule, "rule", [...Object.keys(PRINTED), "equal areas"]) in PRINTED) {
    half = PRINTED[rule][points];
    if (!half) {
      const choice = Object.keys(PRINTED[rule]).join(", ");
      throw new Problem("points", `The ${rule} rule has none for ${points}.`, `Choose one of: ${choice}.`);
    }
  } else {
    if (!isNumber(points) || points < 2 || points > 24 || points % 2) {
      throw new Problem("points", `${points} is no even number from 2 to 24.`, "Choose one, such as 6 or 10.");
    }
    half = Array.from({ length: points / 2 }, (_, at) => (1 - Math.sqrt((points - 2 * at - 1) / points)) / 2);
  }
  const rest = half.filter((one) => one < 0.5).map((one) => 1 - one).reverse();
  return [...half, ...rest].map((one) => tidy(one, 3));
}

/**
 * The mean velocity of a traverse: the mean of the roots, never the root of the mean.
 * @param {number[]} pressures
 * @param {string} units
 * @param {number|null} [area]
 * @param {number|null} [density]
 * @returns {Traverse}
 */
export function traverse(pressures, units, area = null, density = null) {
  const us = isUs(units);
  if (!pressures.length) throw new Problem("pressures", "There are none.", "Give the velocity pressure at each point.");
  const thick = densityOf(density);
  const speeds = pressures.map((one, place) => {
    if (!isNumber(one) || one < 0) {
      const mend = "Where air runs back, choose a straighter place.";
      throw new Problem(`pressures[${place}]`, "It is not a number of 0 or more.", mend);
    }
    return pitot(one, us, thick);
  });
  const mean = meanOf(speeds);
  const moved = area === null ? null : tidy(mean * aboveZero(area, "area", MOST[units].area) * (us ? 1 : 3600), 2);
  const [low, high] = [Math.min(...speeds), Math.max(...speeds)];
  const even = low * 2 >= high;
  const why = `Mean of the roots at ${speeds.length} points.`
    + (even ? "" : " The slowest is under half of the fastest: look for a place with more straight duct before it.");
  return {
    velocity: tidy(mean, 2), lowest: tidy(low, 2), highest: tidy(high, 2), flow: moved,
    unit: speedUnit(us), flow_unit: us ? "cfm" : "m3/h", even, why,
  };
}

/**
 * Velocities read over a grid on an opening, beside the one that its design asks at least.
 * @param {number[]} readings
 * @param {string} units
 * @param {number|null} [least]
 * @param {number|null} [area]
 * @returns {Face}
 */
export function face(readings, units, least = null, area = null) {
  const us = isUs(units);
  if (!readings.length) throw new Problem("readings", "There are none.", "Read the velocity over a grid on the opening.");
  const speeds = readings.map((one, place) => fromZero(one, `readings[${place}]`, MOST[units].velocity));
  const asked = least === null ? null : aboveZero(least, "least", MOST[units].velocity);
  const mean = meanOf(speeds);
  const moved = area === null ? null : tidy(mean * aboveZero(area, "area", MOST[units].area) * (us ? 1 : 3600), 2);
  const under = asked === null ? 0 : speeds.filter((one) => one < asked * (1 - 1e-9)).length;
  const [word, why] = faceWords(mean, asked, under, speedUnit(us));
  return {
    mean: tidy(mean, 2), lowest: Math.min(...speeds), highest: Math.max(...speeds), under, flow: moved,
    unit: speedUnit(us), word, why,
  };
}

/**
 * Velocity on the axis before a hood that draws `air`, at `distance` (in or mm) from its opening.
 * @param {number} air
 * @param {number} distance
 * @param {number} area
 * @param {string} units
 * @param {boolean} [flanged]
 */
export function captureVelocity(air, distance, area, units, flanged = false) {
  const us = isUs(units);
  const moved = aboveZero(air, "air", MOST[units].flow) / (us ? 1 : 3600);
  return tidy(moved / reach(distance, area, units, flanged), 4);
}

/**
 * The air a hood must draw for a velocity at a distance.
 * @param {number} speed
 * @param {number} distance
 * @param {number} area
 * @param {string} units
 * @param {boolean} [flanged]
 */
export function captureFlow(speed, distance, area, units, flanged = false) {
  const us = isUs(units);
  const asked = aboveZero(speed, "speed", MOST[units].velocity);
  return tidy(asked * reach(distance, area, units, flanged) * (us ? 1 : 3600), 2);
}

/**
 * A capture velocity beside the printed range for how the dust gets away.
 * @param {number} speed
 * @param {string} condition
 * @param {string} units
 */
export function captureAgainst(speed, condition, units) {
  const us = isUs(units);
  const found = fromZero(speed, "speed", MOST[units].velocity);
  return against(found, CAPTURE_RANGES[known(condition, "condition", Object.keys(CAPTURE_RANGES))], us, {
    below: "Bring the hood nearer, put a flange on it, enclose more, or draw more air.",
    within: "Keep the hood where it is; towards the upper end for poisonous dust, draughts and long work.",
    above: "More than the print asks: watch that it does not carry media or small parts off.",
  }, CAPTURE_RANGE_SOURCE);
}

/**
 * A duct's velocity beside the least that keeps its dust moving.
 * @param {number} speed
 * @param {string} carried
 * @param {string} units
 */
export function transportAgainst(speed, carried, units) {
  const us = isUs(units);
  const found = fromZero(speed, "speed", MOST[units].velocity);
  return against(found, CARRIED[known(carried, "carried", Object.keys(CARRIED))], us, {
    below: "Dust settles in the duct: look in at the clean-outs, clear it, and find what takes the air.",
    within: "Dust is carried. Look into the clean-outs all the same.",
    above: "Dust is carried, at the cost of wear in the bends, of noise and of power.",
  }, CARRIED_SOURCE);
}

/**
 * The air that a hood draws, from the static pressure just behind it, its coefficient of entry and the duct's area.
 * @param {number} staticPressure
 * @param {number} entry
 * @param {number} area
 * @param {string} units
 * @param {number|null} [density]
 */
export function hoodFlow(staticPressure, entry, area, units, density = null) {
  const us = isUs(units);
  const found = aboveZero(staticPressure, "static", MOST[units].pressure);
  if (!isNumber(entry) || entry <= 0 || entry > 1) {
    throw new Problem("entry", "It is not above 0 and up to 1.", "Take it from the table for the hood's shape.");
  }
  const opening = aboveZero(area, "area", MOST[units].area);
  return tidy(pitot(found, us, densityOf(density)) * entry * opening * (us ? 1 : 3600), 2);
}

/** Air changes an hour. @param {number} air @param {number} volume @param {string} units */
export function airChanges(air, volume, units) {
  const us = isUs(units);
  const moved = aboveZero(air, "air", MOST[units].flow) * (us ? 60 : 1);
  return tidy(moved / aboveZero(volume, "volume", MOST[units].flow), 2);
}

/**
 * How long an enclosure must be exhausted after the dust has stopped; rounded up to whole seconds.
 * @param {number} air
 * @param {number} volume
 * @param {string} units
 * @param {number} [removed] %
 * @param {number} [mixing] 1 where every corner is swept, up to 10 where air is badly spread
 * @returns {PurgeTime}
 */
export function purgeTime(air, volume, units, removed = 99.9, mixing = 1) {
  const us = isUs(units);
  const moved = aboveZero(air, "air", MOST[units].flow) / (us ? 1 : 60);
  const space = aboveZero(volume, "volume", MOST[units].flow);
  if (!isNumber(removed) || removed <= 0 || removed >= 100) {
    throw new Problem("removed", "It is not between 0 and 100 %.", "Give 99 or 99.9.");
  }
  if (!isNumber(mixing) || mixing < 1 || mixing > 10) {
    throw new Problem("mixing", "It is not between 1 and 10.", "Give 3 where nobody measured it; 10 is the worst.");
  }
  const left = 100 - removed;
  const exact = tidy(((mixing * Math.log(100 / left) * space) / moved) * 60, 3);
  const changes = tidy((moved * 60) / space, 2);
  const why = `${say(changes)} air changes an hour, mixing factor ${say(mixing)}: ${say(left)} % of the dust is left.`;
  return { seconds: Math.ceil(exact), exact, changes, left: tidy(left), why, source: PURGE_SOURCE };
}

/** @type {(distance: number, area: number, units: string, flanged: boolean) => number} */
function reach(distance, area, units, flanged) {
  const away = fromZero(distance, "distance", MOST[units].length) / (units === "us" ? 12 : 1000);
  const opening = aboveZero(area, "area", MOST[units].area);
  return (10 * away ** 2 + opening) * (flanged ? FLANGE : 1);
}

/** @type {(pressure: number, us: boolean, density: number) => number} */
const pitot = (pressure, us, density) =>
  us ? PITOT_FACTOR * Math.sqrt(pressure / (density / STANDARD)) : Math.sqrt((2 * pressure) / density);

/** @param {number|null} density */
function densityOf(density) {
  if (density === null) return STANDARD;
  if (!isNumber(density) || density < 0.3 || density > 2) {
    throw new Problem("density", "It is not between 0.3 and 2 kg/m3.", "Work it out from temperature and pressure.");
  }
  return density;
}

/** @type {(mean: number, asked: number|null, under: number, unit: string) => [string, string]} */
function faceWords(mean, asked, under, unit) {
  if (asked === null) {
    return ["no figure to hold it to", "Enter the velocity that the maker or the commissioning report names."];
  }
  const beside = `Mean ${say(mean)} ${unit} beside ${say(asked)} ${unit}`;
  if (mean < asked * (1 - 1e-9)) {
    return ["below the design", `${beside}: look at filters, fan belt, dampers and leaks before working.`];
  }
  if (under) return ["uneven", `${beside}, but ${under} points lie under it: look for a blocked baffle or a draught.`];
  return ["reaches the design", `${beside}.`];
}

/** @type {(found: number, range: Range, us: boolean, todo: Record<string, string>, source: string) => Against} */
function against(found, range, us, todo, source) {
  const [low, high] = us ? range.fpm : range.metres;
  const word = found < low * (1 - 1e-9) ? "below" : high !== null && found > high ? "above" : "within";
  return { word, low, high, unit: speedUnit(us), todo: todo[word], source };
}

/** @param {number[]} values */
const meanOf = (values) => values.reduce((sum, one) => sum + one, 0) / values.length;

/** @param {boolean} us */
const speedUnit = (us) => (us ? "fpm" : "m/s");
