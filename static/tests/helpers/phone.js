// A phone: a database of its own in memory, a sync, and what a test needs to break them.
import "fake-indexeddb/auto";
import { Vault } from "../../src/store/db.js";
import { append } from "../../src/store/outbox.js";
import { Sync } from "../../src/store/sync.js";
import { newId } from "../../src/core/uuid7.js";

/** @param {import("./server.js").Server} server @param {string} [device] @param {LockManager | null} [locks] */
export function phone(server, device = newId(), locks = null) {
  server.device = device;
  const vault = new Vault(device);
  return { ...tab(server, vault, locks), device, vault };
}

/** Another tab of the same phone when given its vault's name. @param {import("./server.js").Server} server @param {Vault} vault @param {LockManager | null} [locks] */
export function tab(server, vault, locks = null) {
  /** @type {string[]} */
  const links = [];
  /** @type {unknown[]} */
  const faults = [];
  const sync = new Sync({ vault, fetch: server.fetch, locks, onMoved: () => {}, onLink: (link) => links.push(link), onFault: (error) => faults.push(error) });
  return {
    sync, links, faults,
    /** One round, and no timer left behind. */
    async once() {
      const link = await sync.run();
      clearTimeout(sync.timer);
      return link;
    },
    /** @param {...string} texts */
    note: (...texts) => append(vault, texts.map((text) => ({ kind: "note.made", body: { text } })), "p"),
    unsent: async () => (await vault.all("outbox")).map((row) => row.entry),
    tray: () => vault.all("tray"),
    stored: () => vault.all("entries"),
    /** @param {string} key */
    meta: (key) => vault.get("meta", key),
  };
}

/**
 * Put something before every write to a store; returns how to undo it.
 * @param {(store: IDBObjectStore) => void} before
 */
function tapWrites(before) {
  const prototype = /** @type {any} */ (IDBObjectStore.prototype);
  const names = ["put", "add", "delete", "clear"];
  const whole = names.map((name) => prototype[name]);
  names.forEach((name, index) => {
    prototype[name] = function tapped(/** @type {any[]} */ ...args) {
      before(this);
      return whole[index].apply(this, args);
    };
  });
  return () => names.forEach((name, index) => { prototype[name] = whole[index]; });
}

/**
 * Make the n-th write (to some stores) throw, once.
 * @param {number} n @param {() => Error} error @param {(store: string) => boolean} [where]
 */
export function breakWrite(n, error, where = () => true) {
  let left = n;
  const mend = tapWrites((store) => {
    if (where(store.name) && --left === 0) throw error();
  });
  return { reached: () => left <= 0, mend };
}

/** Abort every transaction after its n-th write, as when the page is killed there. @param {number} n */
export function killAtWrite(n) {
  const writes = new WeakMap();
  let reached = false;
  const mend = tapWrites(({ transaction }) => {
    writes.set(transaction, (writes.get(transaction) ?? 0) + 1);
    if (writes.get(transaction) !== n) return;
    reached = true;
    queueMicrotask(() => transaction.abort());
  });
  return { reached: () => reached, mend };
}
