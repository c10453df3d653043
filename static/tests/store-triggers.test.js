// Row 21: there is no Background Sync to rely on. What was made is sent at the start, when the network comes back, when
// the page is looked at or comes back from the cache, by a timer, and soon after each entry; the order is kept.
import assert from "node:assert/strict";
import { test } from "node:test";
import { phone } from "./helpers/phone.js";
import { Server } from "./helpers/server.js";

const texts = (/** @type {any[]} */ entries) => entries.map((entry) => entry.body.text);

/** A page's window and document, for as long as `run` takes. @param {(page: { window: EventTarget, document: EventTarget & { visibilityState: string } }) => Promise<void>} run */
async function inPage(run) {
  const page = { window: new EventTarget(), document: Object.assign(new EventTarget(), { visibilityState: "hidden" }) };
  Object.assign(globalThis, page);
  try {
    await run(page);
  } finally {
    for (const name of ["window", "document"]) delete (/** @type {any} */ (globalThis)[name]);
  }
}

/** @param {() => boolean} done */
async function until(done) {
  for (let turn = 0; turn < 400 && !done(); turn++) await new Promise((resolve) => setTimeout(resolve, 5));
  assert.ok(done(), "it never came");
}

test("sent at the start, on «online», on «pageshow», when looked at, and soon after each entry, in the order made", () => inPage(async ({ window, document }) => {
  assert.equal(/** @type {any} */ (globalThis).SyncManager, undefined, "nothing here offers Background Sync");
  const server = new Server();
  const mine = phone(server);
  const arrives = (/** @type {number} */ count) => until(() => server.entries.length === count);
  try {
    await mine.note("at the start");
    mine.sync.start();
    await arrives(1);
    await mine.sync.running;
    await mine.note("online", "online too");
    window.dispatchEvent(new Event("online"));
    await arrives(3);
    await mine.sync.running;
    await mine.note("pageshow");
    window.dispatchEvent(new Event("pageshow"));
    await arrives(4);
    await mine.sync.running;
    await mine.note("looked at");
    document.dispatchEvent(new Event("visibilitychange"));
    assert.equal(mine.sync.running, null, "hidden: nothing to do");
    document.visibilityState = "visible";
    document.dispatchEvent(new Event("visibilitychange"));
    await arrives(5);
    await mine.sync.running;
    await mine.note("soon");
    mine.sync.soon();
    await arrives(6);
    assert.deepEqual(texts(server.entries), ["at the start", "online", "online too", "pageshow", "looked at", "soon"]);
  } finally {
    await mine.sync.close();
  }
}));

test("a timer asks again after a failure and while nothing happens; a closed sync hears nothing any more", () => inPage(async ({ window }) => {
  const server = new Server();
  const mine = phone(server);
  const { setTimeout: whole } = globalThis;
  /** @type {number[]} */
  const waits = [];
  globalThis.setTimeout = /** @type {any} */ ((/** @type {any} */ run, /** @type {number} */ ms) => {
    if (ms > 1_000 && ms < 5_000) waits.push(ms);
    return whole(run, ms > 1_000 && ms < 5_000 ? 5 : ms); // the wait after a failure, cut short
  });
  try {
    await mine.note("made without signal");
    let failures = 2;
    server.before = () => { if (failures-- > 0) throw new TypeError("no signal"); return null; };
    mine.sync.start();
    await until(() => server.entries.length === 1);
    await mine.sync.running;
    assert.deepEqual(mine.links, ["no signal", "no signal", "here"]);
    assert.equal(waits.length, 2);
  } finally {
    globalThis.setTimeout = whole;
    await mine.sync.close();
  }
  const before = server.asked.length;
  window.dispatchEvent(new Event("online"));
  await new Promise((resolve) => setTimeout(resolve, 30));
  assert.equal(server.asked.length, before);
}));
