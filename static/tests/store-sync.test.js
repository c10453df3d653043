import assert from "node:assert/strict";
import { test } from "node:test";
import { append, byteLength, resend } from "../src/store/outbox.js";
import { Vault } from "../src/store/db.js";
import { keep } from "../src/store/photos.js";
import { newId } from "../src/core/uuid7.js";
import { killAtWrite, phone, tab } from "./helpers/phone.js";
import { Server, html, problem } from "./helpers/server.js";

const isPush = (/** @type {any} */ asked) => asked.path === "/sync/push";
const texts = (/** @type {any[]} */ entries) => entries.map((entry) => entry.body.text);
const many = (/** @type {number} */ count) => Array.from({ length: count }, (_, index) => `note ${index}`);

test("a round trip: pushed, stored here with its position, not fetched again", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.note("one", "two");
  assert.equal(await mine.once(), "here");
  assert.deepEqual(texts(server.entries), ["one", "two"]);
  assert.deepEqual(await mine.unsent(), []);
  assert.deepEqual((await mine.stored()).map((row) => [row.entry.body.text, row.position]), [["one", 1], ["two", 2]]);
  assert.equal(await mine.meta("cursor"), 2);
});

// Row 4: the checkpoint must not run ahead of the data.
test("killed at any write of a pull: the cursor stands for what is kept, and the next round completes it", async () => {
  let killed = 0;
  for (const first of [true, false]) {
    for (let n = 1; ; n++) {
      const server = new Server();
      const [mine, other] = [phone(server), phone(server)];
      if (!first) await mine.once();
      server.device = other.device;
      await other.note("from the other", "and again");
      await other.once();
      server.device = mine.device;
      const cursor = await mine.meta("cursor");
      const broken = killAtWrite(n);
      const link = await mine.once();
      broken.mend();
      if (!broken.reached()) break;
      killed += 1;
      assert.equal(link, "server trouble");
      assert.equal(mine.faults.length, 1);
      assert.deepEqual([await mine.meta("cursor"), (await mine.stored()).length], [cursor, 0], `killed at write ${n}`);
      assert.equal(await mine.once(), "here");
      assert.deepEqual(texts((await mine.stored()).map((row) => row.entry)).sort(), ["and again", "from the other"]);
      assert.equal(await mine.meta("cursor"), 2);
    }
  }
  assert.ok(killed > 12, `${killed} places`);
});

// Rows 5 and 30: stored, but the answer is lost; a network error is neither a failure nor a success.
test("the answer lost after storing: kept as unknown, asked again with the same ids, stored once", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  await mine.note("one", "two");
  server.after = (asked, response) => {
    if (isPush(asked)) throw new TypeError("connection reset");
    return response;
  };
  assert.equal(await mine.once(), "no signal");
  assert.equal(server.entries.length, 2);
  assert.deepEqual(texts(await mine.unsent()), ["one", "two"]);
  assert.deepEqual(await mine.tray(), []);
  server.after = (_asked, response) => response;
  await mine.note("three"); // so the batch is cut differently
  assert.equal(await mine.once(), "here");
  assert.deepEqual(texts(server.entries), ["one", "two", "three"]);
  assert.equal(new Set(server.pushes().flatMap(({ body }) => body.entries.map((/** @type {any} */ e) => e.id))).size, 3);
  assert.deepEqual(await mine.unsent(), []);
});

test("a timeout is unknown too: the request is given up, the entry stays", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  await mine.note("one");
  const { setTimeout: whole } = globalThis;
  globalThis.setTimeout = /** @type {any} */ ((/** @type {any} */ run, /** @type {number} */ ms) => whole(run, Math.min(ms, 20)));
  const { fetch } = server;
  mine.sync.parts.fetch = (_path, init) => new Promise((_, reject) => {
    init?.signal?.addEventListener("abort", () => reject(new DOMException("aborted", "AbortError")));
  });
  try {
    assert.equal(await mine.once(), "no signal");
  } finally {
    globalThis.setTimeout = whole;
  }
  assert.equal((await mine.unsent()).length, 1);
  mine.sync.parts.fetch = fetch;
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 1);
});

// Row 6: one poison record must not block the queue.
test("nine of ten arrive; the tenth is in the tray with its reason, can be mended and sent under the same number", async () => {
  const server = new Server();
  server.check = (entry) => (entry.body.text === "note 4" ? [{ field: "body.text", problem: "is wrong", mend: "write it right" }] : []);
  const mine = phone(server);
  await mine.note(...many(10));
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 9);
  assert.deepEqual(await mine.unsent(), []);
  const [refused] = await mine.tray();
  assert.equal(refused.problem.errors[0].mend, "write it right");
  await resend(mine.vault, refused.id, { text: "mended" });
  assert.equal(await mine.once(), "here");
  const stored = server.entries.at(-1);
  assert.deepEqual([stored.id, stored.seq, stored.body], [refused.id, refused.entry.seq, { text: "mended" }]);
  assert.deepEqual(await mine.tray(), []);
});

test("refused because its id is taken: sent again under a new id and number", async () => {
  const server = new Server();
  server.check = (entry) => (entry.seq === 1 ? [{ field: "id", problem: "is another entry's", mend: "make a new one" }] : []);
  const mine = phone(server);
  const [made] = await mine.note("one");
  await mine.once();
  await resend(mine.vault, made.id, made.body);
  await mine.once();
  assert.notEqual(server.entries[0].id, made.id);
  assert.equal(server.entries[0].seq, 2);
});

// Row 7: 413 retried for ever.
test("413: the batch is halved until it fits; an item too large alone is parked, and the rest arrives", async () => {
  const server = new Server();
  server.largest = 3_000;
  const mine = phone(server);
  await mine.note(...many(10), "x".repeat(5_000), ...many(10).map((text) => `${text} after`));
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 20);
  assert.deepEqual(await mine.unsent(), []);
  const tray = await mine.tray();
  assert.equal(tray.length, 1);
  assert.match(tray[0].problem.errors[0].mend, /shorten/);
  assert.ok(server.pushes().length < 40, `${server.pushes().length} requests`);
});

test("413 said in HTML by a proxy is understood as well", async () => {
  const server = new Server();
  server.before = (asked) => (isPush(asked) && asked.body.entries.length > 2 ? html(413) : null);
  const mine = phone(server);
  await mine.note(...many(5));
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 5);
});

// Row 8: endless loop at the exact batch size.
for (const count of [0, 1, 499, 500, 501, 1000]) {
  test(`${count} entries go out in ${Math.ceil(count / 500)} batches, and come in on another phone page by page`, async () => {
    const server = new Server();
    const [mine, other] = [phone(server), phone(server)];
    await other.once();
    server.device = mine.device;
    if (count) await mine.note(...many(count));
    assert.equal(await mine.once(), "here");
    assert.equal(server.pushes().length, Math.ceil(count / 500));
    assert.deepEqual([server.entries.length, (await mine.unsent()).length], [count, 0]);
    server.device = other.device;
    server.page = 250;
    server.asked = [];
    assert.equal(await other.once(), "here");
    assert.equal((await other.stored()).length, count);
    assert.equal(server.asked.length, Math.max(1, Math.ceil(count / 250)));
  });
}

test("a batch stays under its bytes, counted as they go over the wire", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.note(...Array.from({ length: 40 }, () => "é".repeat(50_000))); // 100 kB each as UTF-8
  await mine.once();
  for (const { body } of server.pushes()) assert.ok(byteLength(JSON.stringify(body)) < 1.6 * 2 ** 20);
  assert.equal(server.entries.length, 40);
});

test("«more» without moving on does not loop for ever", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  server.before = (asked) => (asked.path.startsWith("/sync/changes")
    ? new Response(JSON.stringify({ entries: [], definitions: [], state: { meters: {}, machines: {}, shop: null }, head: 0, more: true, gaps: [] }),
      { headers: { "content-type": "application/json" } }) : null);
  assert.equal(await mine.once(), "server trouble");
});

// Row 10: A's queue must not be sent as B.
test("A queues and signs out, B signs in: nothing of A's goes; it goes when A is back", async () => {
  const server = new Server();
  const a = phone(server);
  await a.note("of A");
  const b = phone(server);
  await b.note("of B");
  await b.once();
  assert.deepEqual(texts(server.entries), ["of B"]);
  server.device = a.device;
  await a.once();
  assert.deepEqual(texts(server.entries), ["of B", "of A"]);
  assert.equal(server.entries[1].receipt.device, a.device);
});

// Row 11: two tabs flush.
test("two tabs come online together: each item once with locks, and without them too", async () => {
  for (const locks of [fakeLocks(), null]) {
    const server = new Server();
    const mine = phone(server, newId(), locks);
    const second = tab(server, new Vault(mine.device), locks);
    await mine.note(...many(30));
    assert.deepEqual(await Promise.all([mine.once(), second.once()]), ["here", "here"]);
    assert.equal(server.entries.length, 30);
    assert.deepEqual([await mine.unsent(), (await mine.stored()).length], [[], 30]);
    if (locks) assert.equal(server.pushes().length, 1);
  }
});

/** @returns {any} the part of Web Locks that is used */
function fakeLocks() {
  /** @type {Promise<any>} */
  let last = Promise.resolve();
  return { request: (/** @type {string} */ _name, /** @type {any} */ _options, /** @type {() => any} */ run) => (last = last.catch(() => {}).then(run)) };
}

test("a tab that was frozen with the lock in its hands does not stop the others for ever", async () => {
  const server = new Server();
  const never = /** @type {any} */ ({ request: (/** @type {string} */ _name, /** @type {any} */ { signal }) => new Promise((_, reject) => {
    signal.addEventListener("abort", () => reject(signal.reason));
  }) });
  const mine = phone(server, newId(), never);
  await mine.note("one");
  const { setTimeout: whole } = globalThis;
  globalThis.setTimeout = /** @type {any} */ ((/** @type {any} */ run, /** @type {number} */ ms) => whole(run, Math.min(ms, 20)));
  try {
    assert.equal(await mine.once(), "here");
  } finally {
    globalThis.setTimeout = whole;
  }
  assert.equal(server.entries.length, 1);
});

// Row 15: the database was cleared with items pending.
test("numbers go on after the database was cleared, and the lost ones show as a gap", async () => {
  const server = new Server();
  const mine = phone(server);
  let noted = 0;
  const seqStore = { read: () => noted, write: (/** @type {number} */ seq) => { noted = seq; } };
  const note = (/** @type {Vault} */ vault, /** @type {string} */ text) => append(vault, [{ kind: "note.made", body: { text } }], "p", { seqStore });
  await note(mine.vault, "sent");
  await mine.once();
  await note(mine.vault, "lost 1");
  await note(mine.vault, "lost 2");
  await mine.vault.close();
  await new Promise((resolve) => { indexedDB.deleteDatabase(mine.vault.name).onsuccess = resolve; });
  await note(mine.vault, "after");
  assert.equal(await mine.once(), "here");
  assert.deepEqual(await mine.meta("gaps"), [[2, 2], [3, 3]]);
  assert.deepEqual(texts((await mine.stored()).map((row) => row.entry)).sort(), ["after", "sent"]);
});

test("what was just sent does not show as missing until the next pull", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  server.check = (entry) => (entry.body.text === "bad" ? [{ field: "body.text", problem: "is bad", mend: "mend it" }] : []);
  await mine.note("bad", "good");
  await mine.once();
  server.seqs.set(mine.device, [2]); // as a server that has forgotten the number of what it refused
  await mine.once();
  assert.deepEqual(await mine.meta("gaps"), [[1, 1]]);
  await resend(mine.vault, (await mine.tray())[0].id, { text: "mended" });
  server.before = (asked) => { if (asked.path.startsWith("/sync/changes")) throw new TypeError("no signal"); return null; };
  assert.equal(await mine.once(), "no signal");
  assert.deepEqual(texts(server.entries), ["good", "mended"]);
  assert.deepEqual(await mine.meta("gaps"), []);
});

// Row 22: a captive portal on every address.
test("behind a captive portal nothing leaves the outbox, nothing is overwritten", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  await mine.note("one");
  server.before = () => html();
  assert.equal(await mine.once(), "no signal");
  assert.equal((await mine.unsent()).length, 1);
  assert.equal((await mine.vault.all("definitions")).length, 3);
  server.before = () => null;
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 1);
});

// Row 23: deleted things come back after long absence.
for (const reason of ["the server says 410", "81 days went by"]) {
  test(`away past the horizon (${reason}): a whole snapshot, stale rows gone, the outbox sent`, async () => {
    const server = new Server();
    const mine = phone(server);
    server.definitions.push({ type: "machine", id: "gone", name: "Old mill", revision: 1, retired: false, meters: [] });
    await mine.once();
    await mine.note("made while away");
    server.definitions.pop();
    if (reason.startsWith("81")) await mine.vault.run(["meta"], "readwrite", (tx) => tx.objectStore("meta").put(Date.now() - 81 * 86_400_000, "synced"));
    else server.before = (asked) => (asked.path.startsWith("/sync/changes") ? problem(410, "Gone") : null);
    assert.equal(await mine.once(), "here");
    assert.deepEqual((await mine.vault.all("definitions")).map((one) => one.id).sort(), ["m", "p", "s"]);
    assert.deepEqual(texts(server.entries), ["made while away"]);
    assert.deepEqual(await mine.unsent(), []);
  });
}

for (const onward of [1, 5]) {
  test(`the server came back from a backup, and went on by ${onward} entries: what it lost is sent again, once`, async () => {
    const server = new Server();
    const [mine, other] = [phone(server), phone(server)];
    server.device = mine.device;
    await mine.note("in the backup");
    await mine.once();
    const backup = structuredClone(server.entries);
    await mine.note("lost", "lost too");
    await mine.once();
    Object.assign(server, { entries: backup, epoch: "after", device: other.device });
    await other.note(...many(onward));
    await other.once();
    server.device = mine.device;
    assert.equal(await mine.once(), "here");
    assert.deepEqual(texts(server.entries), ["in the backup", ...many(onward), "lost", "lost too"]);
    assert.deepEqual(await mine.unsent(), []);
    assert.equal((await mine.stored()).length, 3 + onward);
    assert.equal(await mine.meta("epoch"), "after");
  });
}

// Row 24: large photos stall the records.
test("photos go after the records, one at a time; a dropped line resumes where it was", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  for (let index = 0; index < 5; index++) {
    const { sha256 } = await keep(mine.vault, new Blob([crypto.getRandomValues(new Uint8Array(2_000))], { type: "image/jpeg" }));
    await append(mine.vault, [{ kind: "note.made", body: { text: `photo ${index}`, photo: sha256 } }], "p");
  }
  let under_way = 0;
  let most = 0;
  let drops = 3;
  server.before = async (asked) => {
    if (asked.method !== "PUT") return null;
    assert.equal(server.entries.length, 5, "records first");
    most = Math.max(most, ++under_way);
    await new Promise((resolve) => setTimeout(resolve, 2));
    under_way -= 1;
    if (server.photos.size === 2 && drops-- > 0) throw new TypeError("line dropped");
    return null;
  };
  assert.deepEqual([await mine.once(), await mine.once(), await mine.once()], ["no signal", "no signal", "no signal"]);
  assert.equal(await mine.once(), "here");
  assert.deepEqual([server.photos.size, most], [5, 1]);
  assert.equal(server.asked.filter(({ method }) => method === "PUT").length, 8);
  assert.deepEqual([await mine.vault.all("photos"), await mine.vault.all("uploads")], [[], []]);
});

// Row 26: own writes echoed back.
test("own entries come back without bodies and lose nothing by it", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  await mine.note("one");
  await mine.once();
  const pulled = server.asked.filter(({ path }) => path.startsWith("/sync/changes")).at(-1);
  assert.equal(pulled?.path, `/sync/changes?after=0&limit=500&epoch=${server.epoch}`);
  assert.deepEqual((await mine.stored()).map((row) => [row.entry.body.text, row.position]), [["one", 1]]);
});

// Row 19: an older app on a newer server.
test("fields this app does not know survive the way in", async () => {
  const server = new Server();
  const mine = phone(server);
  server.entries.push({ id: newId(), kind: "smoke.seen", machine: "m", by: "p", at: "2027-01-01T08:00:00.000Z", seq: 1, colour: "blue",
    body: { text: "x", new_field: [1] }, receipt: { device: "other" } });
  await mine.once();
  const [row] = await mine.stored();
  assert.deepEqual([row.entry.colour, row.entry.body.new_field, row.entry.kind], ["blue", [1], "smoke.seen"]);
});
