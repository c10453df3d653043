// Row 27: random one-way cuts, then the line heals: every queue empties and every phone comes to the same.
import assert from "node:assert/strict";
import { test } from "node:test";
import { append } from "../src/store/outbox.js";
import { phone } from "./helpers/phone.js";
import { Server, html, problem } from "./helpers/server.js";

/** A small generator of known seed, so that a failure can be repeated (mulberry32). @param {number} seed */
function randomOf(seed) {
  let at = seed;
  return () => {
    at = (at + 0x6d2b79f5) | 0;
    let mixed = Math.imul(at ^ (at >>> 15), 1 | at);
    mixed = (mixed + Math.imul(mixed ^ (mixed >>> 7), 61 | mixed)) ^ mixed;
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
}

/** Cut the line at random, one way or the other, or let something else answer. @param {Server} server @param {() => number} random @param {number} share */
function cut(server, random, share) {
  const lost = () => { throw new TypeError("line dropped"); };
  server.before = () => {
    if (random() >= share) return null;
    return [lost, () => html(), () => problem(503, "Busy"), () => html(502)][Math.floor(random() * 4)]();
  };
  server.after = (_asked, response) => (random() < share ? lost() : response); // stored, and nobody hears of it
}

/** @param {any} one what an entry is, wherever it is held */
const plain = ({ id, kind, machine, by, at, seq, body }) => ({ id, kind, machine, by, at, seq, body });

for (const seed of [1, 2, 3, 4, 5, 6, 7, 8]) {
  test(`random cuts, seed ${seed}: once the line heals, queues are empty and all phones hold the same`, async () => {
    const server = new Server();
    const random = randomOf(seed);
    const phones = [phone(server), phone(server), phone(server)];
    server.page = 7;
    let made = 0;
    cut(server, random, 0.35);
    for (let step = 0; step < 60; step++) {
      const mine = phones[Math.floor(random() * phones.length)];
      server.device = mine.device;
      if (random() < 0.6) {
        const hours = { kind: "meter.added", machine: "m", body: { meter: "h", amount: 0.5 } };
        await append(mine.vault, [hours, { kind: "note.made", body: { text: `note ${step}` } }], "p");
        made += 2;
      } else await mine.once();
    }
    server.before = () => null;
    server.after = (_asked, response) => response;
    for (let round = 0; round < 2; round++) { // the first brings everything in, the second brings it to everybody
      for (const mine of phones) {
        server.device = mine.device;
        assert.equal(await mine.once(), "here");
      }
    }
    assert.equal(server.entries.length, made, "each entry once");
    const whole = server.entries.map(plain).sort((a, b) => (a.id < b.id ? -1 : 1));
    for (const mine of phones) {
      assert.deepEqual([await mine.unsent(), await mine.tray()], [[], []]);
      const held = (await mine.stored()).map(({ entry }) => plain(entry)).sort((a, b) => (a.id < b.id ? -1 : 1));
      assert.deepEqual(held, whole);
      assert.deepEqual((await mine.stored()).map(({ position }) => position).sort((a, b) => a - b), whole.map((_, index) => index + 1));
      const [meter] = await mine.vault.run(["state"], "readonly", async (tx) => [await tx.objectStore("state").get("meter:h")]);
      assert.equal(meter.total, made / 4);
      assert.deepEqual(await mine.meta("gaps"), []);
    }
  });
}
