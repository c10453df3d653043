// Surface speed of wheels, bands and belts, and the spindle speed that gives it.
// Twin of webapp/core/speeds.py, held to tests/vectors/sawing.json.
import { aboveZero, isUs } from "./figures.js";
import { tidy } from "./numbers.js";

export const MOST_RPM = 100000;
/** The largest diameter (in, mm) and surface speed (ft/min, m/min) taken for meant. @type {Record<string, [number, number]>} */
const MOST = { us: [1000, 1000000], metric: [25400, 304800] };

/** @param {string} units */
const inchesIn = (units) => (isUs(units) ? 12 : 1000);

/**
 * Speed of a wheel's rim: inches give ft/min ("us"), millimetres give m/min ("metric").
 * @param {number} diameter
 * @param {number} rpm
 * @param {string} units
 */
export function surfaceSpeed(diameter, rpm, units) {
  const per = inchesIn(units);
  aboveZero(diameter, "diameter", MOST[units][0]);
  aboveZero(rpm, "rpm", MOST_RPM);
  return tidy((Math.PI * diameter * rpm) / per, 4);
}

/**
 * Turns a minute of a wheel for a surface speed in ft/min ("us") or m/min ("metric").
 * @param {number} speed
 * @param {number} diameter
 * @param {string} units
 */
export function rpmFor(speed, diameter, units) {
  const per = inchesIn(units);
  aboveZero(speed, "speed", MOST[units][1]);
  aboveZero(diameter, "diameter", MOST[units][0]);
  return tidy((per * speed) / (Math.PI * diameter), 4);
}
