// How much of a measured dust is each metal of the alloy, beside its limit: a mass balance, where nobody sampled the metal itself. Pure.
import { inDust } from "../../core/alloys.js";
import { OVER } from "../../core/exposure.js";
import { byBalance, dustFor } from "../../core/sampling.js";
import { formsOf, groupOf, ownAverage, sayMilligrams } from "./limits.js";
import { matters } from "./work.js";

/** @typedef {{ symbol: string, name: string, said: string, over: boolean, why: string }} Metal */

/**
 * Each metal that matters, in so much dust of the alloy cut or sanded cold: beside the lowest 8-hour average that the shop goes by.
 * @param {any} library the cards @param {string} id @param {number} dust mg/m³ @param {string[]} chosen authorities @param {string} today
 * @returns {Metal[]}
 */
export function metalsIn(library, id, dust, chosen, today) {
  const { composition } = library.alloys[id];
  return matters(library, id).map(({ symbol, name }) => {
    const { low, high } = inDust(composition, symbol, dust);
    const amount = low === high ? sayMilligrams(high) : `${sayMilligrams(low)} to ${sayMilligrams(high)}`;
    const { substance } = library.elements[symbol];
    const forms = substance ? formsOf(library, substance) : [];
    const form = ["dust", "any"].find((one) => forms.includes(one));
    const limit = form ? ownAverage(groupOf(library, substance, form, chosen, today)) : null;
    if (limit === null) return { symbol, name, said: `${name}: ${amount}`, over: false, why: "Those whose limits the shop goes by name no 8-hour average for its dust." };
    const { word } = byBalance(low, high, limit);
    const whole = inDust(composition, symbol, 100).high;
    return { symbol, name, said: `${name}: ${amount}, ${word}`, over: word === OVER,
      why: `The limit is ${sayMilligrams(limit)} over eight hours. About ${sayMilligrams(Number(dustFor(limit, whole).toPrecision(3)))} of this alloy's dust can hold as much.` };
  });
}
