// Compressed air: what a blast nozzle draws, what a compressor gives, what leaks, what a receiver holds.
// Twin of webapp/core/air.py, where formulas and sources are told; held to tests/vectors/air.json.
// Pressures are gauge, psi ("us") or bar ("metric"); free air is cfm or L/min at 70 F (21 C) and one atmosphere.
import { aboveZero, fromZero, isUs, known } from "./figures.js";
import { say, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{air: number, unit: string, choked: boolean, coefficient: number, source: string}} NozzleAir
 * @typedef {{share: number, spare: number, wanted: number, unit: string, verdict: "short"|"tight"|"enough",
 *   why: string, source: string}} Supply
 * @typedef {{ratio: number, before: number, now: number, extra: number, unit: string, worn_out: boolean,
 *   why: string, source: string}} Wear
 * @typedef {{air: number, unit: string, share: number|null, why: string, source: string}} Flow
 * @typedef {{kj: number, over: boolean, caution: string, why: string, source: string}} Energy
 * @typedef {{per_cent: number, loads_an_hour: number|null, why: string}} Duty
 * @typedef {{per_hour: number, hours_left: number|null, few: boolean, why: string}} Media
 */

const ATMOSPHERE_KPA = 101.325;
const PSI_KPA = 6.894757293168;
const BAR_KPA = 100;
const CUBIC_FOOT_L = 28.316846592;
const GALLON_CUBIC_FOOT = 231 / 1728;
/** @typedef {Record<string, number>} ByUnits */
const MOST_PRESSURE = /** @type {ByUnits} */ ({ us: 500, metric: 35 });
const MOST_BORE = /** @type {ByUnits} */ ({ us: 2, metric: 51 });
const MOST_VOLUME = /** @type {ByUnits} */ ({ us: 100000, metric: 400000 });
const MOST_FLOW = /** @type {ByUnits} */ ({ us: 100000, metric: 3000000 });
const MILLION = 1000000;
const K = 1.4;
const R = 287.05;
const KELVIN = 294.26;
const CHOKED = (2 / (K + 1)) ** (K / (K - 1));

/** @type {Record<string, [number, string]>} Kind of opening: discharge coefficient and where it is from. */
export const NOZZLES = {
  blast: [0.8, "fitted to a published table of nozzle use measured while blasting (blastandpaint.com), which it meets within "
    + "7 %: media in the nozzle takes room from the air"],
  jet: [1, "the air jet of a suction gun carries no media; 1.0 meets a published table (istsurface.com) within 4 %"],
  rounded: [0.97, "well-rounded entrance: note to the table of discharge of air through an orifice"],
  sharp: [0.65, "sharp-edged hole: note to the table of discharge of air through an orifice"],
};
const RESERVE = 0.5;
const RESERVE_SOURCE = "blastandpaint.com: add up what is drawn and add 50 percent";
const WEAR_LIMIT_IN = 1 / 16;
const WEAR_SOURCE = "blastone.com: replace the nozzle when its bore has grown by 1/16 in";
const HAZARDOUS_KJ = 100;
const ENERGY_SOURCE = "ehs.berkeley.edu: stored energy over 100 kJ is highly hazardous; isentropic expansion to the atmosphere";
const LEAK_SOURCE = "leak test by decay: V x fall / (time x atmosphere), as accurateair.com and US Navy MO-209 print it";
const WELL_KEPT_LEAK = 10;
const SHARE_SOURCE = "load and unload times: T / (T + t); below 10 % where it is well kept, 20 to 30 % where it is not";
/** @type {Record<string, string>} */
const SUPPLY_WHY = {
  short: "More is drawn than is delivered: the pressure falls while you work.",
  tight: "Enough for this alone, but less than half of it in reserve for leaks, wear and other users.",
  enough: "Delivered with at least half as much again in reserve.",
};

/** @param {boolean} us */
const flowUnit = (us) => (us ? "cfm" : "L/min");

/** @param {number|null} [kpa] */
const outsideOf = (kpa) => (kpa === null || kpa === undefined ? ATMOSPHERE_KPA : aboveZero(kpa, "atmosphere", 110));

/**
 * Free air through an opening of `bore` (in or mm) at the gauge pressure before it.
 * @param {number} bore
 * @param {number} pressure
 * @param {string} kind "blast" (nozzle with media), "jet" (air jet of a suction gun), "rounded" or "sharp"
 * @param {string} units
 * @param {number|null} [atmosphere] kPa, where the shop lies high
 * @returns {NozzleAir}
 */
export function nozzleAir(bore, pressure, kind, units, atmosphere = null) {
  const us = isUs(units);
  const [coefficient, source] = NOZZLES[known(kind, "kind", Object.keys(NOZZLES))];
  aboveZero(bore, "bore", MOST_BORE[units]);
  const gauge = aboveZero(pressure, "pressure", MOST_PRESSURE[units]) * (us ? PSI_KPA : BAR_KPA);
  const outside = outsideOf(atmosphere);
  const square = (Math.PI / 4) * (bore * (us ? 0.0254 : 0.001)) ** 2;
  const litres = 60000 * coefficient * square * freeSpeed(gauge + outside, outside);
  const air = tidy(us ? litres / CUBIC_FOOT_L : litres, 2);
  return { air, unit: flowUnit(us), choked: outside / (gauge + outside) <= CHOKED, coefficient, source };
}

/** Free air (m3/s) through each m2 of an ideal opening (kPa absolute). @param {number} before @param {number} outside */
function freeSpeed(before, outside) {
  const sound = Math.sqrt(K * R * KELVIN);
  const ratio = outside / before;
  if (ratio <= CHOKED) return (before / outside) * sound * (2 / (K + 1)) ** ((K + 1) / (2 * (K - 1)));
  const spread = ratio ** (2 / K) - ratio ** ((K + 1) / K);
  return (before / outside) * sound * Math.sqrt((2 / (K - 1)) * spread);
}

/**
 * What is drawn beside what the compressor delivers at that pressure (cfm or L/min).
 * @param {number} demand
 * @param {number} delivered
 * @param {string} units
 * @returns {Supply}
 */
export function against(demand, delivered, units) {
  const us = isUs(units);
  aboveZero(demand, "demand", MOST_FLOW[units]);
  aboveZero(delivered, "delivered", MOST_FLOW[units]);
  const wanted = demand * (1 + RESERVE);
  const verdict = demand > delivered ? "short" : wanted > delivered ? "tight" : "enough";
  const [share, spare] = [tidy((demand / delivered) * 100, 1), tidy(delivered - demand, 2)];
  return { share, spare, wanted: tidy(wanted, 2), unit: flowUnit(us), verdict, why: SUPPLY_WHY[verdict], source: RESERVE_SOURCE };
}

/**
 * What the growth of a bore (in or mm) costs in air: the ratio of the areas.
 * @param {number} fresh the new nozzle's bore
 * @param {number} now
 * @param {number} pressure
 * @param {string} kind
 * @param {string} units
 * @returns {Wear}
 */
export function nozzleWear(fresh, now, pressure, kind, units) {
  const us = isUs(units);
  const before = nozzleAir(fresh, pressure, kind, units);
  if (aboveZero(now, "now", MOST_BORE[units]) < fresh) {
    throw new Problem("now", "It is smaller than the new bore.", "Measure both with the same pins.");
  }
  const after = nozzleAir(now, pressure, kind, units);
  const wornOut = (now - fresh) / (us ? 1 : 25.4) >= WEAR_LIMIT_IN - 1e-9;
  const more = say((now / fresh) ** 2 * 100 - 100);
  return {
    ratio: tidy((now / fresh) ** 2, 4),
    before: before.air,
    now: after.air,
    extra: tidy(after.air - before.air, 2),
    unit: before.unit,
    worn_out: wornOut,
    why: `${more} % more air at the same pressure.${wornOut ? " Grown by 1/16 in: time for a new one." : ""}`,
    source: WEAR_SOURCE,
  };
}

/**
 * Delivered free air from the time to pump a shut receiver (gal or L) up: V x rise / (time x atmosphere).
 * @param {number} volume
 * @param {number} start
 * @param {number} end
 * @param {number} seconds
 * @param {string} units
 * @param {number|null} [atmosphere]
 * @returns {Flow}
 */
export function pumpUp(volume, start, end, seconds, units, atmosphere = null) {
  const us = isUs(units);
  if (rise(start, end, units) <= 0) {
    throw new Problem("end", "It is not above the pressure at the start.", "Read the gauge at both ends again.");
  }
  const air = tidy(freeAir(volume, end - start, seconds, units, atmosphere), 2);
  const why = "Three runs or more, and their mean: a warm receiver shows too much.";
  return { air, unit: flowUnit(us), share: null, why, source: "accurateair.com: volume x pressure / atmosphere / time" };
}

/**
 * Free air that leaks while nothing is drawn and nothing pumped, from the fall of the pressure.
 * @param {number} volume
 * @param {number} start
 * @param {number} end
 * @param {number} seconds
 * @param {string} units
 * @param {number|null} [delivered] the compressor's air, for the share in %
 * @param {number|null} [atmosphere]
 * @returns {Flow}
 */
export function leakByDecay(volume, start, end, seconds, units, delivered = null, atmosphere = null) {
  const unit = flowUnit(isUs(units));
  if (rise(start, end, units) >= 0) {
    throw new Problem("end", "It is not below the pressure at the start.", "Read the gauge at both ends again.");
  }
  const air = freeAir(volume, start - end, seconds, units, atmosphere);
  if (delivered === null) return { air: tidy(air, 2), unit, share: null, why: "Leak at the middle of the fall.", source: LEAK_SOURCE };
  const share = tidy((air / aboveZero(delivered, "delivered", MOST_FLOW[units])) * 100, 1);
  return { air: tidy(air, 2), unit, share, why: leakWords(share), source: LEAK_SOURCE };
}

/**
 * Leak in % of the compressor's air from its times on load and off load (same unit) while nothing is drawn.
 * @param {number} loaded
 * @param {number} idle
 * @returns {Flow}
 */
export function leakByLoads(loaded, idle) {
  aboveZero(loaded, "loaded", MILLION);
  aboveZero(idle, "idle", MILLION);
  const share = tidy((loaded / (loaded + idle)) * 100, 1);
  return { air: share, unit: "%", share, why: leakWords(share), source: SHARE_SOURCE };
}

/** @param {number} share */
function leakWords(share) {
  if (share <= WELL_KEPT_LEAK) return `${say(share)} % of the air leaks: below the 10 % of a well-kept system.`;
  return `${say(share)} % of the air leaks: more than the 10 % of a well-kept system. Look for hissing joints.`;
}

/** How far the gauge rose. @param {number} start @param {number} end @param {string} units */
function rise(start, end, units) {
  fromZero(start, "start", MOST_PRESSURE[units]);
  fromZero(end, "end", MOST_PRESSURE[units]);
  return end - start;
}

/** @type {(volume: number, change: number, seconds: number, units: string, atmosphere: number|null) => number} */
function freeAir(volume, change, seconds, units, atmosphere) {
  const us = isUs(units);
  const held = aboveZero(volume, "volume", MOST_VOLUME[units]) * (us ? GALLON_CUBIC_FOOT : 1);
  aboveZero(seconds, "seconds", MILLION);
  return (held * change * (us ? PSI_KPA : BAR_KPA)) / outsideOf(atmosphere) / (seconds / 60);
}

/**
 * What a receiver (gal or L) at a gauge pressure holds, in kJ: isentropic expansion to outside.
 * @param {number} volume
 * @param {number} pressure
 * @param {string} units
 * @param {number|null} [atmosphere]
 * @returns {Energy}
 */
export function receiverEnergy(volume, pressure, units, atmosphere = null) {
  const us = isUs(units);
  const litres = aboveZero(volume, "volume", MOST_VOLUME[units]) * (us ? GALLON_CUBIC_FOOT * CUBIC_FOOT_L : 1);
  const outside = outsideOf(atmosphere);
  const inside = aboveZero(pressure, "pressure", MOST_PRESSURE[units]) * (us ? PSI_KPA : BAR_KPA) + outside;
  const kj = tidy(((inside * litres) / 1000 / (K - 1)) * (1 - (outside / inside) ** ((K - 1) / K)), 2);
  const over = kj > HAZARDOUS_KJ;
  const why = over ? "Highly hazardous when it lets go." : "Below 100 kJ, and still enough to maim.";
  return { kj, over, caution: "pressure", why: `${say(kj)} kJ. ${why}`, source: ENERGY_SOURCE };
}

/**
 * Pressure of the outside air (kPa) at a height in ft or m.
 * @param {number} height
 * @param {string} units
 */
export function atmosphereAt(height, units) {
  const us = isUs(units);
  const metres = fromZero(height, "height", us ? 15000 : 4500) * (us ? 0.3048 : 1);
  return tidy(ATMOSPHERE_KPA * (1 - 0.0000225577 * metres) ** 5.25588, 3);
}

/**
 * Share of the running hours that the compressor spent loaded, and how often an hour it loaded.
 * @param {number} loaded
 * @param {number} total
 * @param {number|null} [loads]
 * @returns {Duty}
 */
export function duty(loaded, total, loads = null) {
  aboveZero(total, "total", MILLION);
  if (fromZero(loaded, "loaded", MILLION) > total) {
    throw new Problem("loaded", "It is more than the total hours.", "Read both hour meters again.");
  }
  const perCent = tidy((loaded / total) * 100, 1);
  const often = loads === null ? null : tidy(fromZero(loads, "loads", 1000 * MILLION) / total, 2);
  return { per_cent: perCent, loads_an_hour: often, why: `Loaded ${say(perCent)} % of its running hours.` };
}

/**
 * Media used an hour from top-ups: blast hours since the last one, and the amount that filled it up again.
 * @param {[number, number][]} topUps
 * @param {number|null} [hopper] what is in it now
 * @param {number} [least] what it must not fall below
 * @returns {Media}
 */
export function mediaUse(topUps, hopper = null, least = 0) {
  if (!topUps.length) {
    throw new Problem("top_ups", "There is none yet.", "Log two top-ups with the blast hours between them.");
  }
  const hours = topUps.reduce((sum, [each]) => sum + aboveZero(each, "hours", MILLION), 0);
  const amount = topUps.reduce((sum, [, each]) => sum + fromZero(each, "amount", MILLION), 0);
  const [perHour, few] = [amount / hours, topUps.length < 3];
  fromZero(least, "least", MILLION);
  let left = null;
  if (hopper !== null && perHour > 0) left = tidy(Math.max(fromZero(hopper, "hopper", MILLION) - least, 0) / perHour, 2);
  const why = `From ${topUps.length} top-up${topUps.length === 1 ? "" : "s"}${few ? ": too few to trust." : "."}`;
  return { per_hour: tidy(perHour, 4), hours_left: left, few, why };
}
