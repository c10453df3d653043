// Metals whose dust and sparks must not meet: steel or rust with aluminium, titanium or magnesium.
// Twin of webapp/core/mixed_dust.py, held to tests/vectors/abrasives.json. `caution` is a key of the library's cautions.
import { Problem } from "./problems.js";

/** @typedef {{caution: string|null, between: string[], unknown: string[], why: string, source: string}} Dust */

/** @type {Record<string, string[]>} Words in a material's name that put it in a group. */
const WORDS = {
  copper: ["bronze", "brass", "copper", "nickel silver", "gunmetal"],
  iron: ["steel", "iron", "stainless", "rust", "mill scale", "inox"],
  light: ["alumin", "titan", "magnes", "ti-6al", "ti6al"],
};
/** @type {Record<string, string[]>} Designations that stand alone in a name: AISI and trade numbers. */
const MARKS = {
  iron: ("302 303 304 304l 316 316l 410 416 420 430 440c 17-4 1018 1020 1045 1117 1137 1141 1144 12l14 1215 "
    + "4130 4140 4340 8620 a36 o1 a2 d2 h13 m2").split(" "),
  light: "2011 2014 2017 2024 5052 5083 6026 6061 6063 6082 7050 7075 az31 az91 ti al mg gr2 gr5".split(" "),
};
/** @type {[string, RegExp][]} The first letters of UNS numbers; R5 is titanium, M1 magnesium. */
const UNS = [
  ["copper", /^c\d{5}$/],
  ["light", /^(?:a\d|r5|m1)\d{4}$/],
  ["iron", /^[sghkjtdf]\d{5}$/],
];
/** @type {[string, string, string][]} Groups that must not meet, and the caution that says what to do. */
const INCOMPATIBLE = [["iron", "light", "light_metal_dust"]];
const SOURCE = "Aluminum Association dust data: aluminium with iron oxide burns as thermite above 2500 C; a reported fire of "
  + "aluminium and steel in one collector (airbench.com); NFPA 484: commonly cited, confirm";

/**
 * The dust groups in a metal's name ("copper", "iron", "light"), in that order; empty when it says nothing.
 * @param {string} material
 * @returns {string[]}
 */
export function groupsOf(material) {
  const name = String(material).trim().split(/\s+/).join(" ").toLowerCase().replaceAll(/alumini?um (bronze|brass)/g, "$1");
  const found = new Set(Object.keys(WORDS).filter((group) => WORDS[group].some((word) => name.includes(word))));
  for (const mark of name.split(/[ ,;/()]+/)) {
    const short = mark.split("-")[0];
    for (const group of Object.keys(MARKS)) {
      if (MARKS[group].includes(mark) || MARKS[group].includes(short)) found.add(group);
    }
    for (const [group, pattern] of UNS) if (pattern.test(short)) found.add(group);
  }
  return [...found].sort();
}

/**
 * The metals of a machine's batches since its dust was cleaned out, oldest first, for `dust`. The alloy names the
 * metal, or else what was made, where that says what it is made of; other batches are passed over.
 * @param {{at: string, body: {alloy?: string, what?: string}}[]} batches `batch.run` entries, `at` in UTC
 * @param {string} [since] the clean-out's time
 * @returns {string[]}
 */
export function materials(batches, since = "") {
  /** @type {Set<string>} */
  const found = new Set();
  for (const { at, body } of [...batches].sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0))) {
    const name = body.alloy || (body.what && groupsOf(body.what).length ? body.what : null);
    if (!name || at <= since) continue;
    // Sanded again counts as sanded last.
    found.delete(name);
    found.add(name);
  }
  return [...found];
}

/**
 * Whether `now` may be sanded into the dust of the `last` metals, those since the clean-out, oldest first.
 * @param {string[]} last
 * @param {string} now
 * @returns {Dust}
 */
export function dust(last, now) {
  if (!String(now).trim()) throw new Problem("now", "It is empty.", "Name the metal that you are about to sand.");
  const all = [...last, now];
  /** @type {Record<string, string>} */
  const newest = {};
  for (const material of all) for (const group of groupsOf(material)) newest[group] = material;
  const unknown = [...new Set(all.filter((material) => !groupsOf(material).length))];
  for (const [one, other, caution] of INCOMPATIBLE) {
    if (one in newest && other in newest) {
      const between = [...new Set([newest[one], newest[other]])];
      const why = `${between.join(" and ")} in one dust: clean out to bare metal before you go on.`;
      return { caution, between, unknown, why, source: SOURCE };
    }
  }
  if (unknown.length) {
    const why = `Not known what metal this is: ${unknown.join(", ")}. Look on its card before you go on.`;
    return { caution: null, between: [], unknown, why, source: SOURCE };
  }
  return { caution: null, between: [], unknown, why: "No steel or rust together with light metal since the clean-out.", source: SOURCE };
}
