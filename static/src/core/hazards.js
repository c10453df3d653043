// What a piece of work asks for: the library's rules judged on the phone; twin of webapp/core/hazards.py.
// Works on the cards that the phone keeps (webapp/library/cards.py): rules, equipment, elements and the closing line.
import { mattering, percents } from "./alloys.js";
import { isNumber } from "./numbers.js";
import { Problem } from "./problems.js";

/**
 * @typedef {{process: string, base: string|null, percents: Record<string, number>, medium: string|null, last: string[],
 *   traces: string[], surface: string[], flags: string[], measures: Record<string, number>}} Situation
 * @typedef {{processes?: string[], elements?: Record<string, number>, bases?: string[], mediums?: string[], last?: string[],
 *   traces?: string[], surfaces?: string[], flags?: string[], unless?: string[], measures?: Record<string, number>}} When
 * @typedef {{signal: string, hazard: string, what: string, do: string, why: string, source: string}} Caution
 * @typedef {{key: string, when: When, caution: Caution, controls?: Record<string, string[]>, ppe?: string[], stop?: string}} Rule
 * @typedef {{base: string, composition: import("./alloys.js").Constituent[]}} Alloy
 * @typedef {{rules: string[], stops: {rule: string, text: string}[], cautions: (Caution & {key: string, text: string})[],
 *   controls: Record<string, string[]>, ppe: string[]}} Demands
 * @typedef {{rules: Rule[], ppe: Record<string, {part: string, text: string}>, closing: string}} Cards
 */

const SIGNALS = ["danger", "warning", "caution", "notice"];
// The order of the hierarchy of controls; protective equipment comes last because it fails with its wearer.
export const TIERS = ["eliminate", "substitute", "enclose", "administer", "protect"];

/**
 * The work as the rules judge it. An alloy of null is an unknown metal, which is a hazard of its own.
 * @param {string} process
 * @param {Alloy|null} alloy
 * @param {Record<string, import("./alloys.js").Element>} elements
 * @param {{medium?: string|null, last?: Alloy[], surface?: string[], flags?: string[], measures?: Record<string, number>}} [more]
 * @returns {Situation}
 */
export function describe(process, alloy, elements, { medium = null, last = [], surface = [], flags = [], measures = {} } = {}) {
  for (const [name, value] of Object.entries(measures)) {
    if (!isNumber(value) || value < 0) {
      throw new Problem(`measures.${name}`, "It is not a number of 0 or more.", "Measure it, or leave it out.");
    }
  }
  const traces = last.flatMap((one) => mattering(one.composition, elements).map(({ symbol }) => symbol));
  return {
    process,
    base: alloy ? alloy.base : null,
    percents: alloy ? percents(alloy.composition) : {},
    medium,
    last: [...new Set(last.map((one) => one.base))],
    traces: [...new Set(traces)],
    surface: [...new Set(surface)],
    flags: [...new Set(alloy ? flags : [...flags, "unknown_metal"])],
    measures,
  };
}

/**
 * What all rules together ask of a piece of work, in the rules' order within each signal word and tier.
 * @param {Cards} cards
 * @param {Situation} work
 * @returns {Demands}
 */
export function judge({ rules, ppe, closing }, work) {
  const fired = rules.filter((rule) => fires(rule.when, work));
  const ordered = [...fired].sort((a, b) => SIGNALS.indexOf(a.caution.signal) - SIGNALS.indexOf(b.caution.signal));
  const worn = [...new Set(ordered.flatMap((rule) => rule.ppe ?? []))];
  const controls = TIERS.map((tier) => {
    const said = ordered.flatMap((rule) => rule.controls?.[tier] ?? []);
    return /** @type {[string, string[]]} */ ([tier, [...new Set(said), ...(tier === "protect" ? worn.map((key) => ppe[key].text) : [])]]);
  });
  return {
    rules: fired.map((rule) => rule.key),
    stops: ordered.flatMap((rule) => (rule.stop === undefined ? [] : [{ rule: rule.key, text: rule.stop }])),
    cautions: ordered.map(({ key, caution }) => ({ ...caution, key, text: `${caution.do} ${caution.why} ${closing}` })),
    controls: Object.fromEntries(controls.filter(([, texts]) => texts.length)),
    ppe: worn,
  };
}

/**
 * Whether each thing that a rule asks is met.
 * @param {When} when
 * @param {Situation} work
 */
export function fires(when, work) {
  return (
    oneOf(when.processes, [work.process])
    && oneOf(when.bases, [work.base])
    && oneOf(when.mediums, [work.medium])
    && oneOf(when.last, work.last)
    && oneOf(when.traces, work.traces)
    && oneOf(when.surfaces, work.surface)
    && reached(when.elements, work.percents)
    && (when.flags ?? []).every((flag) => work.flags.includes(flag))
    && !(when.unless ?? []).some((flag) => work.flags.includes(flag))
    && Object.entries(when.measures ?? {}).every(([name, low]) => name in work.measures && work.measures[name] >= low)
  );
}

/** @param {string[]|undefined} asked @param {(string|null)[]} there */
const oneOf = (asked, there) => !asked?.length || there.some((one) => one !== null && asked.includes(one));

/** @param {Record<string, number>|undefined} asked @param {Record<string, number>} there */
const reached = (asked, there) =>
  !asked || !Object.keys(asked).length || Object.entries(asked).some(([element, low]) => (there[element] ?? 0) >= low);
