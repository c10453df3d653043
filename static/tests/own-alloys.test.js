// A shop's own alloys on the phone, held to the vectors that pytest holds the server to; and the cards they join.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { test } from "node:test";
import { composed } from "../src/core/certificates.js";
import { ownCard, withOwn } from "../src/core/own-alloys.js";
import { Problem } from "../src/core/problems.js";

/** @type {{ library: any, cards: { name: string, row: any, out: any }[], certificates: { name: string, base: string, lines: any[], out: any }[] }} */
const { library, cards, certificates } = JSON.parse(readFileSync(new URL("../../tests/vectors/own_alloys.json", import.meta.url), "utf8"));

for (const { name, row, out } of cards) test(`card: ${name}`, () => assert.deepEqual(ownCard(row, library), out));

for (const { name, base, lines, out } of certificates) {
  test(`certificate: ${name}`, () => {
    try {
      assert.deepEqual(composed(base, lines), out);
    } catch (error) {
      if (!(error instanceof Problem)) throw error;
      assert.deepEqual({ error: { field: error.field, problem: error.problem, mend: error.mend } }, out);
    }
  });
}

test("own alloys stand before the library's, with their certificate as a source", () => {
  const { row } = cards[0];
  const all = withOwn({ ...library, sources: { memory: {} } }, [row]);
  assert.deepEqual(Object.keys(all.alloys), [row.id, ...Object.keys(library.alloys)]);
  assert.equal(all.sources[row.id].text, "Mill certificate T 2207: the rod mill's own, with the delivery");
  assert.equal(all.sources[row.id].mark, "seen");
  assert.equal(withOwn(library, []), library);
  assert.equal(withOwn(null, [row]), null);
});

test("cards kept from a release before own alloys still take them", () => {
  const older = { ...library, densities: undefined };
  const { row } = /** @type {any} */ (cards.find(({ name }) => name === "like nothing in the library"));
  assert.equal(withOwn({ ...older, sources: {} }, [row]).alloys[row.id].density, undefined);
});
