// The arithmetic that the phone repeats, held to the vectors that pytest holds the Python core to.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { judge } from "../src/core/due.js";

/**
 * @param {string} name
 * @returns {{name: string, in: any, out: any}[]}
 */
const vectors = (name) =>
  JSON.parse(readFileSync(new URL(`../../tests/vectors/${name}.json`, import.meta.url), "utf8"));

for (const { name, in: { rule, facts }, out } of vectors("due")) {
  test(`due: ${name}`, () => assert.deepEqual(judge(rule, facts), out));
}
