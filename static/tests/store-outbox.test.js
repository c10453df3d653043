import "fake-indexeddb/auto";
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";
import { forceCloseDatabase } from "fake-indexeddb";
import { unwrap } from "idb";
import { STEPS, StorageError, Vault } from "../src/store/db.js";
import { append } from "../src/store/outbox.js";
import { keep } from "../src/store/photos.js";
import { newId } from "../src/core/uuid7.js";
import { breakWrite, killAtWrite, phone } from "./helpers/phone.js";
import { Server } from "./helpers/server.js";

const NOTE = { kind: "note.made", body: { text: "chips in the way oil" } };

test("several entries of one deed are kept together, numbered without gaps, at local time with its offset", async () => {
  const vault = new Vault(newId());
  const finding = newId();
  const made = await append(vault, [
    { kind: "finding.opened", machine: "m", id: finding, body: { text: "guard cracked", stop: true } },
    { kind: "tag.on", machine: "m", body: { why: "guard cracked", finding } },
  ], "p");
  await append(vault, [NOTE], "p");
  const rows = await vault.all("outbox");
  assert.deepEqual(rows.map((row) => row.entry.seq), [1, 2, 3]);
  assert.deepEqual(rows.slice(0, 2).map((row) => row.entry), made);
  assert.match(made[0].at, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}[+-]\d\d:\d\d$/);
  assert.ok(Math.abs(Date.parse(made[0].at) - Date.now()) < 5_000);
  assert.match(made[1].id, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
});

// Row 17: entry, outbox row and number are one transaction; killed at any write, nothing of it stays.
test("killed at any write while entries are kept: all or nothing, and the numbers have no hole", async () => {
  const vault = new Vault(newId());
  let killed = 0;
  for (let n = 1; ; n++) {
    const broken = killAtWrite(n);
    const made = append(vault, [NOTE, NOTE, { kind: "note.made", body: { text: "x", photo: "ab" } }], "p");
    const failed = await made.then(() => false, () => true);
    broken.mend();
    if (!broken.reached()) break;
    assert.ok(failed, `write ${n} was broken, but the entries were called kept`);
    assert.deepEqual([await vault.all("outbox"), await vault.all("uploads"), await vault.get("meta", "seq")], [[], [], undefined]);
    killed += 1;
  }
  assert.equal(killed, 5); // the number, three rows, one upload
  assert.deepEqual((await vault.all("outbox")).map((row) => row.entry.seq), [1, 2, 3]);
});

// Row 29: browsers relax durability by default.
test("transactions ask for strict durability", async () => {
  const prototype = /** @type {any} */ (IDBDatabase.prototype);
  const { transaction } = prototype;
  /** @type {any[]} */
  const asked = [];
  prototype.transaction = function spied(/** @type {any[]} */ ...args) {
    asked.push(args);
    return transaction.apply(this, args);
  };
  try {
    await append(new Vault(newId()), [NOTE], "p");
  } finally {
    prototype.transaction = transaction;
  }
  const writes = asked.filter(([, mode]) => mode === "readwrite");
  assert.ok(writes.length > 0);
  for (const [, , options] of writes) assert.deepEqual(options, { durability: "strict" });
});

// Row 12: Safari loses the connection; the close event comes, or it does not.
test("after the browser closed the connection a write opens it again", async () => {
  const vault = new Vault(newId());
  await append(vault, [NOTE], "p");
  const lost = await vault.connection();
  forceCloseDatabase(/** @type {any} */ (unwrap(lost)));
  await append(vault, [NOTE], "p");
  (await vault.connection()).close(); // closed without any event
  await append(vault, [NOTE], "p");
  assert.deepEqual((await vault.all("outbox")).map((row) => row.entry.seq), [1, 2, 3]);
});

test("open() fails once: it is tried again; twice: the person hears it and nothing is called kept", async () => {
  const { open } = indexedDB;
  let failures = 1;
  indexedDB.open = function failing(...args) {
    if (failures-- > 0) throw Object.assign(new Error("connection to the database server lost"), { name: "UnknownError" });
    return open.apply(indexedDB, args);
  };
  try {
    const vault = new Vault(newId());
    await append(vault, [NOTE], "p");
    assert.equal((await vault.all("outbox")).length, 1);
    failures = 99;
    const other = new Vault(newId());
    await assert.rejects(append(other, [NOTE], "p"), (error) => error instanceof StorageError && /does not open/.test(error.message));
  } finally {
    indexedDB.open = open;
  }
});

test("a transaction lost in the middle is repeated, and its entries are kept once", async () => {
  const vault = new Vault(newId());
  await vault.all("outbox");
  const broken = breakWrite(2, () => Object.assign(new Error("lost"), { name: "UnknownError" }));
  await append(vault, [NOTE, NOTE], "p");
  broken.mend();
  assert.ok(broken.reached());
  assert.deepEqual((await vault.all("outbox")).map((row) => row.entry.seq), [1, 2]);
});

// Row 14: open() never settles (private mode, Safari).
test("open() that never settles ends in a message, and works when it is tried later", async () => {
  const { open } = indexedDB;
  indexedDB.open = /** @type {any} */ (() => Object.assign(new EventTarget(), { result: null, error: null }));
  const silent = /** @type {any} */ (IDBRequest);
  const has = Object.getOwnPropertyDescriptor(silent, Symbol.hasInstance);
  Object.defineProperty(silent, Symbol.hasInstance, { configurable: true, value: (/** @type {any} */ one) => one instanceof EventTarget && "result" in one });
  const vault = new Vault(newId(), { limit: 20 });
  try {
    await assert.rejects(vault.all("outbox"), (error) => error instanceof StorageError && /Close other tabs/.test(error.message));
  } finally {
    indexedDB.open = open;
    if (has) Object.defineProperty(silent, Symbol.hasInstance, has);
    else delete silent[Symbol.hasInstance];
  }
  assert.deepEqual(await vault.all("outbox"), []);
});

// Row 18: a schema upgrade blocked by an old tab.
test("a newer app in another tab upgrades at once; the old tab is told to reload; the outbox is whole", async () => {
  const device = newId();
  /** @type {(string | null)[]} */
  const told = [];
  const old = new Vault(device, { onTrouble: (say) => told.push(say) });
  await append(old, [NOTE, NOTE], "p");
  const newer = new Vault(device, { steps: [...STEPS, (db) => { db.createObjectStore("more"); }], limit: 2_000 });
  assert.equal((await newer.all("outbox")).length, 2);
  assert.deepEqual(await newer.all("more"), []);
  assert.match(String(told.at(-1)), /reload/);
  await assert.rejects(append(old, [NOTE], "p"), /reload this page/);
  assert.equal((await newer.all("outbox")).length, 2);
});

// Row 13: Blobs are unreadable on WebKit.
test("a photo is kept as plain bytes, and reads back the same after a reload", async () => {
  const device = newId();
  const bytes = crypto.getRandomValues(new Uint8Array(5_000));
  const { sha256, kept } = await keep(new Vault(device), new Blob([bytes], { type: "image/jpeg" }));
  assert.ok(kept);
  const row = await new Vault(device).get("photos", sha256);
  assert.ok(row.bytes instanceof ArrayBuffer);
  assert.equal(createHash("sha256").update(new Uint8Array(row.bytes)).digest("hex"), sha256);
});

// Row 16: quota in the middle of a photo.
test("no room for a photo: it is given up, the record that names it is kept and sent, and the photo is marked lost", async () => {
  const server = new Server();
  const mine = phone(server);
  await mine.once();
  const full = () => new DOMException("no room", "QuotaExceededError");
  const broken = breakWrite(1, full, (store) => store === "photos");
  const photo = await keep(mine.vault, new Blob([new Uint8Array(100)], { type: "image/jpeg" }));
  broken.mend();
  assert.equal(photo.kept, false);
  assert.match(String(photo.why), /no room/);
  assert.deepEqual(await mine.vault.all("photos"), []);
  await append(mine.vault, [{ kind: "note.made", body: { text: "cracked", photo: photo.sha256 } }], "p");
  assert.equal(await mine.once(), "here");
  assert.equal(server.entries.length, 1);
  const [upload] = await mine.vault.all("uploads");
  assert.equal(upload.state, "failed");
});

test("no room for an entry: stored ones make way; with none left to make way the person hears that it is not kept", async () => {
  const full = () => new DOMException("no room", "QuotaExceededError");
  const vault = new Vault(newId());
  await vault.run(["entries", "meta"], "readwrite", (tx) => Promise.all([
    tx.objectStore("meta").put(1, "cursor"),
    ...[1, 2].map((position) => tx.objectStore("entries").put({ id: `e${position}`, ms: 1, machine: "", position, entry: {} })),
  ]));
  const broken = breakWrite(1, full, (store) => store === "outbox");
  await append(vault, [NOTE], "p");
  broken.mend();
  const left = (await vault.all("entries")).map((row) => row.id);
  assert.deepEqual([(await vault.all("outbox")).length, left], [1, ["e2"]], "e2 is not in the state held here yet");
  const { add } = IDBObjectStore.prototype;
  IDBObjectStore.prototype.add = () => { throw full(); };
  try {
    await assert.rejects(append(vault, [NOTE], "p"), /NOT kept/);
  } finally {
    IDBObjectStore.prototype.add = add;
  }
  assert.equal((await vault.all("outbox")).length, 1);
});
