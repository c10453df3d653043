// Alloys, hazard rules and limits on the phone, held to the vectors that pytest holds the Python core to.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { differences, inDust, mattering, percents, share } from "../src/core/alloys.js";
import { describe, judge } from "../src/core/hazards.js";
import { lookUp } from "../src/core/limits.js";
import { Problem } from "../src/core/problems.js";

/** @type {{name: string, in: {fn: string, args: any}, out: any}[]} */
const cases = JSON.parse(readFileSync(new URL("../../tests/vectors/hazards.json", import.meta.url), "utf8"));

/** @type {Record<string, (args: any) => unknown>} */
const FUNCTIONS = {
  share: ({ composition, element }) => share(composition, element),
  percents: ({ composition }) => percents(composition),
  mattering: ({ composition, elements }) => mattering(composition, elements),
  in_dust: ({ composition, element, dust }) => inDust(composition, element, dust),
  differences: ({ composition, found }) => differences(composition, found),
  describe: ({ process, alloy, elements, ...more }) => {
    const work = describe(process, alloy, elements, more);
    const sorted = { last: work.last.sort(), traces: work.traces.sort(), surface: work.surface.sort(), flags: work.flags.sort() };
    return { ...work, ...sorted };
  },
  judge: ({ cards, work }) => judge(cards, work),
  look_up: ({ limits, substance, form, authorities, on }) => lookUp(limits, substance, form, authorities, on),
};

/** @param {string} fn @param {any} args */
function outcome(fn, args) {
  try {
    return FUNCTIONS[fn](args);
  } catch (error) {
    if (!(error instanceof Problem)) throw error;
    return { error: { field: error.field, problem: error.problem, mend: error.mend } };
  }
}

for (const { name, in: { fn, args }, out } of cases) {
  test(`${fn}: ${name}`, () => assert.deepEqual(outcome(fn, args), out));
}

test("controls come in the order of the hierarchy on the phone too", () => {
  const judged = cases.filter((one) => one.in.fn === "judge").map((one) => Object.keys(/** @type {any} */ (outcome("judge", one.in.args)).controls));
  const order = ["eliminate", "substitute", "enclose", "administer", "protect"];
  for (const tiers of judged) assert.deepEqual(tiers, order.filter((tier) => tiers.includes(tier)));
  assert.ok(judged.some((tiers) => tiers.length > 2));
});
