// Exposure, noise, respirators, air, risk and sign-offs on the phone, held to the vectors that pytest holds the core to.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import * as exposure from "../src/core/exposure.js";
import * as filters from "../src/core/filters.js";
import * as measured from "../src/core/measured.js";
import * as measuring from "../src/core/measuring.js";
import * as noiseDaily from "../src/core/noise-daily.js";
import * as noise from "../src/core/noise.js";
import * as ppe from "../src/core/ppe.js";
import { Problem } from "../src/core/problems.js";
import * as purge from "../src/core/purge.js";
import * as rates from "../src/core/rates.js";
import * as respirators from "../src/core/respirators.js";
import * as risk from "../src/core/risk.js";
import * as sampling from "../src/core/sampling.js";
import * as ventilation from "../src/core/ventilation.js";

/** After each step: the state, the seconds left and whether the door is held. @param {[string, ...any[]][]} steps */
function runPurge(steps) {
  /** @type {purge.Purge|null} */
  let state = null;
  return steps.map(([name, ...args]) => {
    if (name === "blast") state = purge.blast(args[0], args[1]);
    else if (name === "reload") state = purge.fromStored(JSON.parse(JSON.stringify(state)));
    else {
      /** @type {Record<string, (state: purge.Purge, now: number) => purge.Purge>} */
      const moves = { start: purge.start, exhaust_off: purge.exhaustOff, look: purge.look };
      state = moves[name](/** @type {purge.Purge} */ (state), args[0]);
    }
    return [state, state && purge.secondsLeft(state), purge.holds(state)];
  });
}

/** @type {Record<string, Record<string, (args: any) => unknown>>} */
const FUNCTIONS = {
  exposure: {
    figure: ({ value }) => exposure.figure(value),
    average: ({ periods, shift }) => exposure.average(periods, shift),
    compare: ({ value, limit, unit, action }) => exposure.compare(value, limit, unit, action),
    short_term: ({ readings, minutes }) => exposure.shortTerm(readings, minutes),
    ceiling: ({ readings, at_once: atOnce }) => exposure.ceiling(readings, atOnce),
    mixture: ({ parts, effect }) => exposure.mixture(parts, effect),
    lead_shift: ({ limit, hours }) => exposure.leadShift(limit, hours),
    long_day: ({ limit, hours }) => exposure.longDay(limit, hours),
    long_week: ({ limit, hours }) => exposure.longWeek(limit, hours),
  },
  sampling: {
    air_volume: ({ before, after, minutes }) => sampling.airVolume(before, after, minutes),
    concentration: ({ micrograms, litres, blank }) => sampling.concentration(micrograms, litres, blank),
    below_detection: ({ detection, litres, spread }) => sampling.belowDetection(detection, litres, spread),
    least_minutes: ({ detection, limit, flow, share }) => sampling.leastMinutes(detection, limit, flow, share),
    plan: ({ detection, limit, flow, window }) => sampling.plan(detection, limit, flow, window),
    by_balance: ({ low, high, limit }) => sampling.byBalance(low, high, limit),
    dust_for: ({ limit, high }) => sampling.dustFor(limit, high),
  },
  measured: { beside: ({ key, row, on, today, ...library }) => measured.beside(key, row, library, on, today) },
  measuring: { wanted: ({ limits, controls }) => measuring.wanted(limits, controls) },
  noise: {
    allowed_hours: ({ level, rule }) => noise.allowedHours(level, rule),
    dose: ({ periods, rule, threshold }) => noise.dose(periods, rule, threshold),
    day: ({ periods, shift }) => noise.day(periods, shift),
    action_level: ({ hours }) => noise.actionLevel(hours),
    protected: ({ level, nrr, kind, weighting, second }) => noise.protectedLevel(level, nrr, kind, weighting, second),
    impulse: ({ peak }) => noise.impulse(peak),
  },
  noise_daily: {
    daily: ({ periods }) => noiseDaily.daily(periods),
    weekly: ({ days }) => noiseDaily.weekly(days),
    stands: ({ level, peak, at_ear: atEar }) => noiseDaily.stands(level, peak, atEar),
    hours_to: ({ level, value }) => noiseDaily.hoursTo(level, value),
    worn: ({ level, snr }) => noiseDaily.worn(level, snr),
  },
  rates: {
    rate: ({ cases, hours }) => rates.rate(cases, hours),
    rates: ({ recordable, away, restricted, hours }) => rates.rates(recordable, away, restricted, hours),
  },
  respirators: {
    apf: ({ key, evidence }) => respirators.apf(key, evidence),
    hazard_ratio: ({ exposure: found, limit }) => respirators.hazardRatio(found, limit),
    maximum_use: ({ key, limit, idlh, cartridge, evidence }) => respirators.maximumUse(key, limit, idlh, cartridge, evidence),
    choose: ({ exposure: found, limit, idlh }) => respirators.choose(found, limit, idlh),
    needs: ({ key }) => respirators.needs(key),
    fit_factor: ({ piece, measured }) => respirators.fitFactor(piece, measured),
    cartridge: ({ used, ...schedule }) => respirators.cartridge(used, schedule),
  },
  ventilation: {
    duct_area: ({ diameter, units }) => ventilation.ductArea(diameter, units),
    opening_area: ({ width, height, units }) => ventilation.openingArea(width, height, units),
    flow: ({ velocity, area, units }) => ventilation.flow(velocity, area, units),
    velocity: ({ air, area, units }) => ventilation.velocity(air, area, units),
    air_density: ({ celsius, pascals }) => ventilation.airDensity(celsius, pascals),
    pitot_velocity: ({ pressure, units, density }) => ventilation.pitotVelocity(pressure, units, density),
    traverse_points: ({ points, rule }) => ventilation.traversePoints(points, rule),
    traverse: ({ pressures, units, area, density }) => ventilation.traverse(pressures, units, area, density),
    face: ({ readings, units, least, area }) => ventilation.face(readings, units, least, area),
    capture_velocity: ({ air, distance, area, units, flanged }) =>
      ventilation.captureVelocity(air, distance, area, units, flanged),
    capture_flow: ({ speed, distance, area, units, flanged }) => ventilation.captureFlow(speed, distance, area, units, flanged),
    capture_against: ({ speed, condition, units }) => ventilation.captureAgainst(speed, condition, units),
    transport_against: ({ speed, carried, units }) => ventilation.transportAgainst(speed, carried, units),
    hood_flow: ({ static: pressure, entry, area, units, density }) =>
      ventilation.hoodFlow(pressure, entry, area, units, density),
    air_changes: ({ air, volume, units }) => ventilation.airChanges(air, volume, units),
    purge_time: ({ air, volume, units, removed, mixing }) => ventilation.purgeTime(air, volume, units, removed, mixing),
  },
  filters: {
    filter_drop: ({ now, clean, change_at: changeAt, before }) => filters.filterDrop(now, clean, changeAt, before),
    static_pressure: ({ now, commissioned }) => filters.staticPressure(now, commissioned),
  },
  purge: { run: ({ steps }) => runPurge(steps), from_stored: ({ stored }) => purge.fromStored(stored) },
  risk: {
    cell: ({ severity, probability }) => risk.cell(severity, probability),
    probability_of: ({ chance }) => risk.probabilityOf(chance),
    estimate: ({ before, after, controls, on }) => risk.estimate(before, after, controls, on),
    skipped: ({ controls, reasons }) => risk.skipped(controls, reasons),
  },
  ppe: {
    next_due: ({ last, unit, count }) => ppe.nextDue(last, unit, count),
    standing: ({ done, until, today }) => ppe.standing(done, until, today),
    renewed: ({ done, unit, count, today }) => ppe.renewed(done, unit, count, today),
    sign_off: ({ signed, person, machine, today }) => ppe.signOff(signed, person, machine, today),
    lacking: ({ signed, people, machine, today }) => ppe.lacking(signed, people, machine, today),
  },
};

/** @param {() => unknown} make */
function outcome(make) {
  try {
    return make();
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { error: { field: error.field, problem: error.problem, mend: error.mend } };
  }
}

for (const [file, functions] of Object.entries(FUNCTIONS)) {
  const cases = JSON.parse(readFileSync(new URL(`../../tests/vectors/${file}.json`, import.meta.url), "utf8"));
  const used = new Set();
  for (const { name, in: { fn, args }, out } of cases) {
    used.add(fn);
    test(`${file}: ${fn}: ${name}`, () => assert.deepEqual(outcome(() => functions[fn](args)), out));
  }
  test(`${file}: every function has a case`, () => assert.deepEqual([...used].sort(), Object.keys(functions).sort()));
}

// JSON carries no NaN and no infinity; a form can.
for (const odd of [NaN, Infinity, -Infinity, "1", undefined, true]) {
  const value = /** @type {any} */ (odd);
  /** @type {[string, () => unknown][]} */
  const tries = [
    ["periods[0].value", () => exposure.average([[value, 8]])],
    ["periods[0].hours", () => exposure.average([[1, value]])],
    ["limit", () => exposure.compare(1, value, "mg/m3")],
    ["value", () => exposure.compare(value, 1, "mg/m3")],
    ["before", () => sampling.airVolume(value, 2, 480)],
    ["level", () => noise.allowedHours(value, "osha")],
    ["nrr", () => noise.protectedLevel(100, value, "muffs")],
    ["exposure", () => respirators.choose(value, 1)],
    ["area", () => ventilation.flow(100, value, "us")],
    ["pressures[0]", () => ventilation.traverse([value], "us")],
    ["volume", () => ventilation.purgeTime(300, value, "us")],
    ["now", () => filters.filterDrop(value, 1, 4)],
    ["seconds", () => purge.blast(value, 0)],
    ["severity", () => risk.cell(value, "A")],
  ];
  for (const [field, attempt] of tries) {
    test(`${field} ${String(odd)} is refused by name`, () => {
      assert.throws(attempt, (error) => error instanceof Problem && error.field === field && error.mend !== "");
    });
  }
}
