// What a mill certificate says, checked before it is kept; twin of webapp/core/certificates.py.
import { own } from "./own-alloys.js";
import { share } from "./alloys.js";
import { isNumber, tidy } from "./numbers.js";
import { Problem } from "./problems.js";

/** @typedef {import("./own-alloys.js").Line} Line */

/** A certificate rounds each figure; together they may miss 100 % by this much before it is an error. */
const SLACK = 1;
/** The elements up to uranium: a misspelt one would raise no caution. */
export const SYMBOLS = new Set(("H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr Rb Sr Y Zr Nb "
  + "Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb Lu Hf Ta W Re Os Ir Pt Au "
  + "Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U").split(" "));

/** @param {string} field @param {Line} line @param {string[]} before @param {string} base */
function checkLine(field, { element, percent, at_most: bound }, before, base) {
  if (!SYMBOLS.has(element)) throw new Problem(`${field}.element`, `${element} is no element.`, "Give its symbol, such as Pb.");
  if (before.includes(element)) throw new Problem(`${field}.element`, `${element} stands twice.`, "Give each element once.");
  if ((percent === undefined) === (bound === undefined)) throw new Problem(`${field}.percent`, "It needs one figure.", "Give percent, or at_most where only a bound is printed.");
  const [name, figure] = percent === undefined ? ["at_most", bound] : ["percent", percent];
  if (!isNumber(figure) || /** @type {number} */ (figure) < 0 || /** @type {number} */ (figure) > 100) {
    throw new Problem(`${field}.${name}`, "It is not between 0 and 100.", "Copy it again, in weight %.");
  }
  if (name === "at_most" && element === base) {
    throw new Problem(`${field}.at_most`, `${base} is the main metal, and a bound does not say how much.`, "Give what was found, or leave it out: it is then the remainder.");
  }
}

/** @param {string} base @param {Line[]} lines */
function checkSum(base, lines) {
  const found = lines.reduce((sum, { percent }) => sum + (percent ?? 0), 0);
  const most = lines.reduce((sum, { at_most: bound }) => sum + (bound ?? 0), found);
  if (found > 100 + SLACK) throw new Problem("composition", `The figures make ${tidy(found, 2)} %.`, "Check each: together about 100 %.");
  if (most < 100 - SLACK && lines.some(({ element }) => element === base)) {
    throw new Problem("composition", `The figures make ${tidy(most, 2)} %.`, `Check each: together about 100 %. Where ${base} is what is left, leave it out.`);
  }
}

/** @param {string} base @param {import("./alloys.js").Constituent[]} parts */
function checkBase(base, parts) {
  const most = share(parts, base)?.high ?? 0;
  for (const { element, low } of parts) {
    if (low !== undefined && element !== base && low > most) {
      throw new Problem("base", `${base} is at most ${tidy(most, 2)} %, and ${element} is ${tidy(low, 2)} %.`, "Choose the element that there is most of.");
    }
  }
}

/**
 * The certificate as a composition; Problem names `base`, `composition`, or `composition.<place>.element`, `.percent` or `.at_most`.
 * @param {string} base symbol of the main metal @param {Line[]} lines
 */
export function composed(base, lines) {
  if (!SYMBOLS.has(base)) throw new Problem("base", `${base} is no element.`, "Give the symbol of the main metal, such as Cu.");
  if (!lines.length) throw new Problem("composition", "It names no element.", "Copy the certificate's analysis.");
  lines.forEach((line, place) => checkLine(`composition.${place}`, line, lines.slice(0, place).map(({ element }) => element), base));
  checkSum(base, lines);
  const parts = own(base, lines);
  checkBase(base, parts);
  return parts;
}
