// What a notification shows, and what its actions leave in the outbox and at the server.
import assert from "node:assert/strict";
import { test } from "node:test";
import { newId } from "../src/core/uuid7.js";
import { Vault } from "../src/store/db.js";
import { act, keepSnoozes, sendSnoozes, shown } from "../src/store/nudges.js";
import { fetchReminders } from "../src/store/reminders.js";
import { phone } from "./helpers/phone.js";
import { Server } from "./helpers/server.js";

const NOW = Date.parse("2026-03-02T13:00:00Z");
const TASK = newId();
const item = (over = {}) => ({ reminder: newId(), machine: "m", task: TASK, link: `#/task/m/${TASK}`, ...over });
const nudge = (device = "d", items = [item()]) => ({
  v: 1, id: newId(), title: "Grease the vise is due", body: "Mill 1. About 5 min.", link: `#/task/m/${TASK}`, device, person: "p", items,
});

/** A phone that has synced, and what the service worker is given. @param {Server} server */
async function synced(server) {
  const one = phone(server);
  await one.once();
  /** @type {any[]} */
  const snoozed = [];
  let signal = true;
  /** @type {typeof globalThis.fetch} */
  const fetch = async (address, options) => {
    if (!signal) throw new TypeError("no signal");
    if (!String(address).includes("/snooze")) return server.fetch(address, options);
    snoozed.push([String(address).split("/").at(-2), JSON.parse(String(options?.body))]);
    return new Response(null, { status: 204 });
  };
  const parts = { open: (/** @type {string} */ device) => new Vault(device), fetch, locks: null, now: () => NOW };
  return { ...one, parts, snoozed, away: (/** @type {boolean} */ gone) => { signal = !gone; } };
}

test("a notification has the actions that can be done from it", () => {
  const actions = (/** @type {any} */ sent) => shown(sent).options.actions?.map(({ action }) => action);
  assert.deepEqual(actions(nudge()), ["done", "later"]);
  assert.deepEqual(actions(nudge("d", [item({ task: null })])), ["later"]);
  assert.deepEqual(actions(nudge("d", [item(), item()])), ["later"]);
  assert.deepEqual(actions(nudge("d", [item({ reminder: null, task: null })])), []);
  const sent = nudge();
  assert.equal(shown(sent).options.tag, sent.id);
  assert.equal(shown(sent).options.data, sent);
});

test("what cannot be read shows something and opens the app", async () => {
  for (const sent of [null, undefined, 7, "x", {}, { ...nudge(), v: 2 }, { ...nudge(), items: null }, { ...nudge(), link: "https://elsewhere.example" }]) {
    const { options } = shown(sent);
    assert.match(options.body, /Open Wayround/);
    assert.equal(options.data, null);
  }
  assert.equal(await act(/** @type {any} */ ({}), "done", null), "/");
});

test("pressing the notification opens its screen", async () => {
  assert.equal(await act(/** @type {any} */ ({}), "", nudge()), `/#/task/m/${TASK}`);
});

test("done is an entry of the outbox, sent at once when there is signal", async () => {
  const server = new Server();
  const one = await synced(server);
  assert.equal(await act(one.parts, "done", nudge(one.device)), null);
  const [entry] = server.entries.slice(-1);
  assert.equal(entry.kind, "task.done");
  assert.deepEqual([entry.machine, entry.by, entry.body], ["m", "p", { task: TASK }]);
  assert.deepEqual(await one.unsent(), []);
});

test("done without signal waits in the outbox and goes with the next sync, once", async () => {
  const server = new Server();
  const one = await synced(server);
  const before = server.entries.length;
  one.away(true);
  assert.equal(await act(one.parts, "done", nudge(one.device)), null);
  assert.equal((await one.unsent()).length, 1);
  await one.once();
  await one.once();
  assert.equal(server.entries.length, before + 1);
  assert.deepEqual(await one.unsent(), []);
});

test("later is kept until the server has it", async () => {
  const server = new Server();
  const one = await synced(server);
  const sent = nudge(one.device, [item(), item()]);
  one.away(true);
  assert.equal(await act(one.parts, "later", sent), null);
  assert.equal(await act(one.parts, "later", sent), null);
  assert.equal((await one.meta("snoozes")).length, 2);
  one.away(false);
  await sendSnoozes(one.vault, one.parts.fetch);
  assert.deepEqual(one.snoozed, sent.items.map(({ reminder }) => [reminder, { until: "2026-03-02T16:00:00.000Z" }]));
  assert.ok((await one.meta("snoozes")).every((/** @type {any} */ row) => row.sent), "they rest here until an answer counts them");
  await sendSnoozes(one.vault, one.parts.fetch);
  assert.equal(one.snoozed.length, 2);
});

test("the page's sync sends what was put off without signal, and the answer that counts it lets it go", async () => {
  const server = new Server();
  const one = await synced(server);
  const [first, second] = [newId(), newId()];
  await keepSnoozes(one.vault, [first, second], "2026-03-04T12:00:00.000Z");
  await keepSnoozes(one.vault, [second], null);
  /** @type {any[]} */
  const asked = [];
  let stands = [{ id: first, snoozed_until: null }];
  server.before = ({ method, path, body }) => {
    if (!path.startsWith("/reminders")) return null;
    if (method === "GET") return Response.json({ as_of: "2026-03-03T13:00:00Z", reminders: stands, troubles: [] });
    asked.push([path, body.until]);
    return new Response(null, { status: 204 });
  };
  assert.equal(await one.once(), "here");
  assert.deepEqual(asked, [[`/reminders/${first}/snooze`, "2026-03-04T12:00:00.000Z"], [`/reminders/${second}/snooze`, null]]);
  assert.equal((await one.meta("snoozes")).length, 2);
  stands = [];
  assert.equal(await fetchReminders(one.vault, server.fetch, () => true), true);
  assert.deepEqual(await one.meta("snoozes"), []);
  assert.deepEqual((await one.meta("reminders")).reminders, []);
  assert.equal(await fetchReminders(one.vault, server.fetch, () => true), false);
});

test("a later that the server is too busy for does not hold up the rest, and is tried again soon", async () => {
  const server = new Server();
  const one = await synced(server);
  await keepSnoozes(one.vault, [newId()], null);
  server.before = ({ path }) => (path.includes("/snooze") ? new Response(null, { status: 503 }) : null);
  await one.note("goes all the same");
  assert.equal(await one.once(), "server trouble");
  assert.deepEqual(await one.unsent(), []);
  assert.equal(one.sync.failures, 1);
});

test("a server in trouble keeps the later waiting, one that knows it no more ends it", async () => {
  const server = new Server();
  const one = await synced(server);
  let status = 503;
  /** @type {typeof globalThis.fetch} */
  const fetch = async (address, options) => (String(address).includes("/snooze") ? new Response(null, { status }) : server.fetch(address, options));
  await act({ ...one.parts, fetch }, "later", nudge(one.device));
  assert.equal((await one.meta("snoozes")).length, 1);
  status = 404;
  await sendSnoozes(one.vault, fetch);
  assert.deepEqual(await one.meta("snoozes"), []);
});

test("a phone that is not this device opens the app and keeps nothing", async () => {
  const server = new Server();
  const one = await synced(server);
  assert.equal(await act(one.parts, "done", nudge(newId())), `/#/task/m/${TASK}`);
  assert.deepEqual(await one.unsent(), []);
});
