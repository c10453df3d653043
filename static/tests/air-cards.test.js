// The library's cards on the phone: fetched once after a sync, kept for when there is no signal, never overwritten by a portal.
import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { test } from "node:test";
import { signal } from "@preact/signals";
import { createCards } from "../src/store/cards.js";
import { Vault } from "../src/store/db.js";
import { newId } from "../src/core/uuid7.js";
import { BLANK, readRates } from "../src/places/air/rates-read.js";

const CARDS = { shape: 1, rules: [], alloys: { C17200: { name: "Beryllium copper 25" } } };
const still = () => true;

/** A server of cards that counts how often it was asked. @param {() => Response} answer */
function serving(answer) {
  const asked = { times: 0 };
  const fetch = /** @type {typeof globalThis.fetch} */ (async () => {
    asked.times += 1;
    return answer();
  });
  return { asked, fetch };
}
const json = (/** @type {any} */ body, /** @type {string} */ etag) => new Response(JSON.stringify(body), { headers: { "content-type": "application/json", etag } });

test("cards are fetched once, kept, and there again without signal", async () => {
  const vault = new Vault(newId());
  const shown = signal(null);
  const { asked, fetch } = serving(() => json(CARDS, 'W/"1"'));
  const store = createCards(shown, fetch);
  await store.fetch(vault, still);
  await store.fetch(vault, still);
  assert.equal(asked.times, 1, "once an hour is enough");
  assert.deepEqual(shown.value, CARDS);
  const later = signal(null);
  const offline = createCards(later, async () => { throw new TypeError("no signal"); });
  await offline.recall(vault, still);
  await offline.fetch(vault, still);
  assert.deepEqual(later.value, CARDS);
  await vault.close();
});

test("an unchanged release writes nothing and draws nothing again", async () => {
  const vault = new Vault(newId());
  const first = signal(null);
  await createCards(first, serving(() => json(CARDS, 'W/"1"')).fetch).fetch(vault, still);
  const shown = signal(null);
  const again = createCards(shown, serving(() => json({ ...CARDS, shape: 9 }, 'W/"1"')).fetch);
  await again.recall(vault, still);
  const before = shown.value;
  await again.fetch(vault, still);
  assert.equal(shown.value, before);
  const next = createCards(shown, serving(() => json({ ...CARDS, shape: 2 }, 'W/"2"')).fetch);
  await next.recall(vault, still);
  await next.fetch(vault, still);
  assert.equal(/** @type {any} */ (shown.value).shape, 2);
  assert.equal((await vault.get("meta", "cards")).etag, 'W/"2"');
  await vault.close();
});

test("an answer that is not the cards, or comes for another phone's database, is passed over", async () => {
  const vault = new Vault(newId());
  const shown = signal(null);
  await createCards(shown, serving(() => new Response("<html>", { headers: { "content-type": "text/html" } })).fetch).fetch(vault, still);
  await createCards(shown, serving(() => json({ hello: 1 }, "x")).fetch).fetch(vault, still);
  await createCards(shown, serving(() => json(CARDS, "x")).fetch).fetch(vault, () => false);
  assert.equal(shown.value, null);
  assert.equal(await vault.get("meta", "cards"), undefined);
  await vault.close();
});

test("recordable rates: a machine shop of five, one case in 10 000 h, is 20.0 (COMAR 09.12.24.09); what is typed wrong is told beside its field", () => {
  const typed = { ...BLANK, recordable: "1", restricted: "1", hours: "10000" };
  const { found } = readRates(typed);
  assert.deepEqual([found?.recordable.rate, found?.dart.rate, found?.away.rate], [20, 20, 0]);
  assert.deepEqual([readRates(BLANK).found, Object.values(readRates(BLANK).errors).filter(Boolean)], [null, []]);
  assert.match(String(readRates({ ...typed, away: "1" }).errors.recordable), /^Recordable cases, all of them: It is 1, the cases within it 2/);
  assert.match(String(readRates({ ...typed, hours: "0" }).errors.hours), /not above 0/);
  assert.match(String(readRates({ ...typed, recordable: "1.5" }).errors.recordable), /whole number/);
});
