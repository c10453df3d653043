import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { pbkdf2Sync } from "node:crypto";
import { test } from "node:test";
import { Store } from "../src/store/app-store.js";
import { createMemory } from "../src/store/memory.js";
import { makePin, pinMatches } from "../src/store/pin.js";
import { wallDate } from "../src/store/instants.js";
import { newId } from "../src/core/uuid7.js";
import { Server, html, problem } from "./helpers/server.js";

/** The storage of one browser: kept from page to page. @returns {Storage} */
function storage() {
  const held = new Map();
  return /** @type {any} */ ({ getItem: (/** @type {string} */ key) => held.get(key) ?? null,
    setItem: (/** @type {string} */ key, /** @type {string} */ value) => held.set(key, value), removeItem: (/** @type {string} */ key) => held.delete(key) });
}

/** A browser, from which pages are opened one after another. */
function browser() {
  const server = new Server();
  server.device = newId();
  const [local, session] = [storage(), storage()];
  /** @type {Store[]} */
  const pages = [];
  return {
    server, local, session,
    async page() {
      const store = new Store({ fetch: server.fetch, locks: null, memory: createMemory({ local, session }) });
      pages.push(store);
      await store.start();
      return store;
    },
    close: () => Promise.all(pages.map(async (store) => {
      await store.asking;
      await store.shut();
    })),
  };
}

/** @param {Store} store @param {() => any} condition */
async function until(store, condition) {
  for (let tries = 0; !condition(); tries++) {
    assert.ok(tries < 300, `never came: ${condition}`);
    await new Promise((resolve) => setTimeout(resolve, 5));
  }
  await store.sync?.running;
}

/** @param {Store} store */
async function signedOn(store) {
  await store.syncNow();
  await store.read();
  assert.equal(await store.choosePerson("p"), true);
  return store;
}

/** @param {string} name @param {(at: ReturnType<typeof browser>) => Promise<void>} run */
const inBrowser = (name, run) => test(name, async () => {
  const at = browser();
  try {
    await run(at);
  } finally {
    await at.close();
  }
});

inBrowser("a first page learns who it is, fetches the shop, and shows what is made at once", async ({ page, server }) => {
  const store = await signedOn(await page());
  assert.deepEqual([store.view.session.value.phase, store.view.link.value], ["joined", "here"]);
  await store.record([{ kind: "meter.added", machine: "m", body: { meter: "h", amount: 2.5 } }]);
  assert.deepEqual([store.view.unsent.value, store.view.state.value.meters.h.total], [1, 2.5]);
  assert.equal(store.view.recent.value[0].unsent, true);
  await until(store, () => store.view.unsent.value === 0);
  assert.equal(store.view.state.value.meters.h.total, 2.5);
  assert.equal(server.entries[0].by, "p");
});

inBrowser("what was pushed but not fetched yet does not vanish from the screen in between", async ({ page, server }) => {
  const store = await signedOn(await page());
  server.before = (asked) => (asked.path.startsWith("/sync/changes") ? problem(500, "Fault") : null);
  const [tag] = await store.record([{ kind: "tag.on", machine: "m", body: { why: "belt torn" } }]);
  await until(store, () => store.view.unsent.value === 0);
  assert.ok(store.view.state.value.machines.m.tags[tag.id]);
});

inBrowser("with the server down a phone that knows its shop opens it, and works", async ({ page, server, session }) => {
  await signedOn(await page());
  server.before = () => { throw new TypeError("no signal"); };
  const store = await page();
  assert.equal(store.view.session.value.phase, "joined");
  assert.equal(store.view.session.value.checked, false);
  assert.equal(store.view.definitions.value.machines[0].name, "Saw");
  assert.equal(store.view.person.value?.id, "p", "the person named at this tab today");
  await store.record([{ kind: "note.made", body: { text: "offline" } }]);
  await store.syncNow();
  assert.deepEqual([store.view.link.value, store.view.unsent.value], ["no signal", 1]);
  session.setItem("wayround.person", JSON.stringify({ id: "p", day: "2020-01-01" }));
  assert.equal((await page()).view.person.value, null, "yesterday's person is asked for again");
});

for (const [name, answer] of /** @type {[string, () => Response][]} */ ([["no answer", () => { throw new TypeError("x"); }], ["a portal", () => html()]])) {
  inBrowser(`a phone that never joined meets ${name}: it says so`, async ({ page, server }) => {
    server.before = answer;
    assert.equal((await page()).view.session.value.phase, "unreachable");
  });
}

inBrowser("a device put out keeps what it holds and says sign in again", async ({ page, server }) => {
  await signedOn(await page());
  server.session = () => ({ first_run: false, signed_in: false, owner: false, device: /** @type {any} */ (null), shop: "Shop", demo: false });
  server.before = (asked) => (asked.path.startsWith("/sync") ? problem(401, "Not known") : null);
  const store = await page();
  await store.record([{ kind: "note.made", body: { text: "still here" } }]);
  await store.syncNow();
  assert.deepEqual([store.view.session.value.phase, store.view.link.value, store.view.unsent.value], ["joined", "sign in again", 1]);
});

inBrowser("nothing can be recorded by nobody", async ({ page }) => {
  const store = await page();
  store.forgetPerson();
  await assert.rejects(store.record([{ kind: "note.made", body: { text: "x" } }]), /Say who you are/);
});

test("a PIN is checked by PBKDF2-SHA-256, the same as node's own", async () => {
  const pin = await makePin("4711");
  const outside = pbkdf2Sync("4711", Buffer.from(pin.salt, "base64"), pin.iterations, 32, "sha256").toString("base64");
  assert.equal(pin.hash, outside);
  assert.deepEqual([await pinMatches("4711", pin), await pinMatches("4712", pin), await pinMatches("", pin)], [true, false, false]);
});

// RFC 7914, section 11: PBKDF2-HMAC-SHA-256 with P="passwd", S="salt", c=1; the first 32 of its 64 octets.
test("a PIN against a published vector", async () => {
  const hash = Buffer.from("55ac046e56e3089fec1691c22544b605f94185216dde0465e68b9d57c20dacbc", "hex").toString("base64");
  assert.ok(await pinMatches("passwd", { salt: Buffer.from("salt").toString("base64"), iterations: 1, hash }));
});

inBrowser("a person with a PIN: the right one, a wrong one, none", async ({ page, server }) => {
  server.definitions.push({ type: "person", id: "q", name: "Olu", revision: 1, retired: false, pin: await makePin("1234") });
  const store = await signedOn(await page());
  assert.deepEqual([await store.choosePerson("q"), await store.choosePerson("q", "9"), await store.choosePerson("q", "1234")], [false, false, true]);
  assert.equal(store.view.person.value?.name, "Olu");
  assert.equal(JSON.parse(JSON.stringify(store.memory.person())).day, wallDate());
});

inBrowser("drafts survive a reload, newest first, until they are dropped", async ({ page }) => {
  const store = await page();
  await store.saveDraft("round:c1", { at: 3 });
  await new Promise((resolve) => setTimeout(resolve, 2));
  await store.saveDraft("note", "half");
  const again = await page();
  assert.deepEqual(await again.loadDraft("round:c1"), { at: 3 });
  assert.deepEqual((await again.drafts()).map((draft) => draft.key), ["note", "round:c1"]);
  await again.dropDraft("note");
  assert.equal(await again.loadDraft("note"), undefined);
});

inBrowser("everything unsent as a file, read in on another phone, is sent in the name of the first", async ({ page, server }) => {
  const store = await signedOn(await page());
  const photo = await store.keepPhoto(new Blob([crypto.getRandomValues(new Uint8Array(60_000))], { type: "image/jpeg" }));
  server.before = () => { throw new TypeError("no signal"); };
  await store.record([{ kind: "note.made", body: { text: "on paper", photo: photo.sha256 } }]);
  const file = await store.saveUnsentToFile();
  await store.shut(); // the first phone stays silent from here on
  const first = server.device;
  const other = browser();
  other.server.fetch = server.fetch;
  server.before = () => null;
  server.device = newId();
  const second = await signedOn(await other.page());
  assert.deepEqual(await second.readUnsentFile(file), { entries: 1, photos: 1 });
  assert.deepEqual(await second.readUnsentFile(file), { entries: 0, photos: 1 }, "twice is harmless");
  await second.syncNow();
  assert.deepEqual([server.entries[0].receipt.device, server.entries[0].body.text], [first, "on paper"]);
  assert.equal(server.photos.size, 1);
  await other.close();
});

inBrowser("files that are none are refused with the reason", async ({ page }) => {
  const store = await signedOn(await page());
  const head = { form: "wayround unsent 1", shop: "s", entries: [], photos: [] };
  for (const [text, said] of /** @type {[string, RegExp][]} */ ([
    ["{", /no whole JSON/], ["{}", /no file of unsent/],
    [JSON.stringify({ ...head, shop: "another" }), /another shop/],
    [JSON.stringify({ ...head, entries: [{ entry: { id: "x" } }] }), /not whole/],
  ])) await assert.rejects(store.readUnsentFile(new Blob([text])), said);
});

inBrowser("a refused entry can be taken out only after its file was made, which can be read in again", async ({ page, server }) => {
  const store = await signedOn(await page());
  server.check = () => [{ field: "body.text", problem: "is wrong", mend: "mend it" }];
  const [entry] = await store.record([{ kind: "note.made", body: { text: "bad" } }]);
  await until(store, () => store.view.tray.value.length === 1);
  const file = await store.trayFile(entry.id);
  await store.discard(entry.id);
  assert.deepEqual(await store.vault?.all("tray"), []);
  server.check = () => [];
  assert.deepEqual(await store.readUnsentFile(file), { entries: 1, photos: 0 });
  await store.syncNow();
  assert.equal(server.entries.length, 1);
});

inBrowser("leaving with something unsent is refused; left on the phone, it is offered to the next enrolment", async ({ page, server }) => {
  const store = await signedOn(await page());
  const first = server.device;
  server.before = (asked) => (asked.path === "/sync/push" ? problem(500, "Fault") : null);
  await store.record([{ kind: "note.made", body: { text: "left" } }]);
  await assert.rejects(store.leave(false), /have not been sent/);
  await store.leave(true);
  assert.equal(store.view.session.value.phase, "not joined");
  server.before = () => null;
  server.device = newId();
  await store.signIn("join", { code: "x", device_name: "Phone" });
  await signedOn(store);
  assert.equal(server.entries.length, 0, "nothing of the first goes as the second");
  assert.deepEqual(await store.leftBehind(), [{ device: first, count: 1 }]);
  assert.equal(store.view.left.value, 1, "said on every screen");
  assert.deepEqual(await store.bringOver(first), { entries: 1, photos: 0 });
  await store.syncNow();
  assert.equal(server.entries[0].receipt.device, first);
  assert.deepEqual(await store.leftBehind(), []);
  assert.equal(store.view.left.value, 0);
});

inBrowser("storage cleared by the browser: the phone says so, and numbers go on", async ({ page, server }) => {
  const store = await signedOn(await page());
  server.before = (asked) => (asked.path === "/sync/push" ? problem(500, "Fault") : null);
  await store.record([{ kind: "note.made", body: { text: "lost" } }]);
  await store.shut();
  await new Promise((resolve) => { indexedDB.deleteDatabase(`wayround-${server.device}`).onsuccess = resolve; });
  server.before = () => null;
  const again = await page();
  await until(again, () => again.view.lost.value !== null);
  assert.match(String(again.view.lost.value), /up to 1/);
  await signedOn(again);
  await again.record([{ kind: "note.made", body: { text: "after" } }]);
  await until(again, () => again.view.gaps.value.length > 0);
  assert.deepEqual(again.view.gaps.value, [[1, 1]]);
});

inBrowser("numbers that wait in the outbox or the tray are not shown as missing", async ({ page, server }) => {
  const store = await signedOn(await page());
  server.check = (entry) => (entry.body.text === "bad" ? [{ field: "body.text", problem: "is wrong", mend: "mend it" }] : []);
  await store.record([{ kind: "note.made", body: { text: "bad" } }, { kind: "note.made", body: { text: "good" } }]);
  server.seqs.set(server.device, []);
  const whole = server.push.bind(server);
  server.push = (sent, device) => {
    const answer = whole(sent, device);
    server.seqs.set(device, (server.seqs.get(device) ?? []).filter((seq) => seq !== 1)); // refused: never stored
    return answer;
  };
  await until(store, () => store.view.tray.value.length === 1);
  await store.syncNow();
  await store.read();
  assert.deepEqual(await store.vault?.get("meta", "gaps"), [[1, 1]]);
  assert.deepEqual(store.view.gaps.value, []);
});

inBrowser("another tab shows what this one kept", async ({ page }) => {
  const [one, two] = [await signedOn(await page()), await page()];
  await one.record([{ kind: "note.made", body: { text: "seen by both" } }]);
  await until(two, () => two.view.recent.value.some((entry) => entry.body.text === "seen by both"));
});

inBrowser("a phone's clock far off: shown, and its entries ordered as the server will", async ({ page, server }) => {
  server.after = (_asked, response) => {
    response.headers.set("date", new Date(Date.now() + 3_600_000).toUTCString());
    return response;
  };
  const store = await signedOn(await page());
  await store.syncNow();
  await store.read();
  assert.ok(Math.abs(store.view.clock.value - 3_600_000) < 5_000);
  await store.record([{ kind: "meter.added", machine: "m", body: { meter: "h", amount: 1 } }]);
  assert.ok(Date.parse(String(store.view.state.value.machines.m.used_at)) - Date.now() > 3_500_000);
});

inBrowser("what a machine's page lists: stored and unsent, newest first, amended and voided ones marked", async ({ page, server }) => {
  const store = await signedOn(await page());
  const [first] = await store.record([{ kind: "meter.added", machine: "m", body: { meter: "h", amount: 1 }, at: new Date(Date.now() - 3_600_000).toISOString() }]);
  await until(store, () => store.view.unsent.value === 0);
  server.before = () => { throw new TypeError("no signal"); };
  await store.record([{ kind: "entry.voided", machine: "m", body: { entry: first.id, why: "wrong" } }]);
  const listed = await store.entriesOf("m", 10);
  assert.deepEqual(listed.map((entry) => [entry.kind, entry.voided ?? false, entry.unsent ?? false]),
    [["entry.voided", false, true], ["meter.added", true, false]]);
});

inBrowser("storage that does not open at the start is said, and read as soon as it does", async ({ page, server }) => {
  await (await signedOn(await page())).shut();
  const { open } = indexedDB;
  indexedDB.open = () => { throw Object.assign(new Error("lost"), { name: "UnknownError" }); };
  const store = await page().finally(() => { indexedDB.open = open; });
  assert.match(String(store.view.storage.value), /does not open/);
  await store.asking;
  await store.syncNow();
  await until(store, () => store.view.definitions.value.machines.length > 0);
  assert.equal(store.view.storage.value, null);
  assert.equal(server.device, store.view.session.value.device?.id);
});
