import assert from "node:assert/strict";
import { test } from "node:test";
import { resend } from "../src/store/outbox.js";
import { phone } from "./helpers/phone.js";
import { Server, html, problem } from "./helpers/server.js";

const isPush = (/** @type {any} */ asked) => asked.path === "/sync/push";
const texts = (/** @type {any[]} */ entries) => entries.map((entry) => entry.body.text);
const many = (/** @type {number} */ count) => Array.from({ length: count }, (_, index) => `note ${index}`);

// Row 9: the queue is dropped on 401 or any 4xx. Which keep, which park; none drops.
/** @type {[string, () => Response | null, string, "keep" | "park"][]} */
const ANSWERS = [
  ["400", () => problem(400, "Bad"), "here", "park"],
  ["401", () => problem(401, "Sign in"), "sign in again", "keep"],
  ["403", () => problem(403, "Not yours"), "sign in again", "keep"],
  ["404", () => problem(404, "Not here"), "server trouble", "keep"],
  ["409", () => problem(409, "Clash"), "here", "park"],
  ["413", () => problem(413, "Too much"), "here", "park"],
  ["422", () => problem(422, "Unusable"), "here", "park"],
  ["426", () => problem(426, "Too old"), "app too old", "keep"],
  ["429", () => problem(429, "Wait"), "server trouble", "keep"],
  ["500", () => problem(500, "Fault"), "server trouble", "keep"],
  ["502 with HTML", () => html(502), "server trouble", "keep"],
  ["403 with HTML", () => html(403), "no signal", "keep"],
  ["200 with HTML", () => html(), "no signal", "keep"],
  ["a redirect to a portal", () => { throw new TypeError("redirect"); }, "no signal", "keep"],
  ["200 with other JSON", () => new Response('{"ok":true}', { headers: { "content-type": "application/json" } }), "server trouble", "keep"],
  ["200 naming other ids", () => new Response('{"results":[{"id":"zz","outcome":"stored"}]}', { headers: { "content-type": "application/json" } }), "no signal", "keep"],
  ["200 with an outcome nobody knows", () => null, "no signal", "keep"],
  ["200 with broken JSON", () => new Response('{"results":[', { headers: { "content-type": "application/json" } }), "no signal", "keep"],
];
for (const [name, answer, link, fate] of ANSWERS) {
  test(`push answered by ${name}: ${fate}, and say «${link}»`, async () => {
    const server = new Server();
    const mine = phone(server);
    await mine.once();
    await mine.note("one", "two");
    server.before = (asked) => {
      if (!isPush(asked)) return null;
      const unknown = { results: asked.body.entries.map((/** @type {any} */ { id }) => ({ id, outcome: "perhaps" })), head: 0 };
      return answer() ?? new Response(JSON.stringify(unknown), { headers: { "content-type": "application/json" } });
    };
    assert.equal(await mine.once(), link);
    const held = { keep: await mine.unsent(), park: (await mine.tray()).map((item) => item.entry) };
    assert.deepEqual(texts(held[fate]).sort(), ["one", "two"]);
    assert.equal(held.keep.length + held.park.length, 2);
    server.before = () => null;
    for (const item of await mine.tray()) await resend(mine.vault, item.id, item.entry.body);
    assert.equal(await mine.once(), "here");
    assert.deepEqual(texts(server.entries).sort(), ["one", "two"]);
  });
}

test("a batch refused as a whole: the one at fault is found by halving, the others arrive", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.note(...many(20));
  server.before = (asked) => (isPush(asked) && asked.body.entries.some((/** @type {any} */ entry) => entry.body.text === "note 13")
    ? problem(422, "Unusable", [{ field: "entries", problem: "are unusable", mend: "mend it" }]) : null);
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 19);
  assert.deepEqual(texts((await mine.tray()).map((item) => item.entry)), ["note 13"]);
});

test("after 426 no timer asks again; after others one does, later each time, and not before Retry-After", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  /** @type {number[]} */
  const waits = [];
  const { setTimeout: whole } = globalThis;
  const timers = async (/** @type {() => Response} */ answer) => {
    server.before = (asked) => (asked.path.startsWith("/sync") ? answer() : null);
    waits.length = 0;
    globalThis.setTimeout = /** @type {any} */ ((/** @type {any} */ run, /** @type {number} */ ms) => {
      waits.push(ms);
      return whole(run, ms);
    });
    await mine.once();
    globalThis.setTimeout = whole;
    return waits.at(-1);
  };
  const request = await timers(() => problem(426, "Too old"));
  assert.equal(request, 30_000, "only the request's own limit");
  const grown = [];
  for (let index = 0; index < 12; index++) grown.push(Number(await timers(() => problem(500, "Fault"))));
  assert.ok(grown[0] < 10_000 && grown[5] > 4 * grown[0], String(grown));
  assert.ok(grown.every((wait) => wait <= 1.25 * 5 * 60_000));
  const asked = await timers(() => new Response("{}", { status: 429, headers: { "retry-after": "900", "content-type": "application/json" } }));
  assert.equal(asked, 900_000);
});
