// The few things kept outside the database: which device this browser was last, and its last number.

/**
 * @typedef {{ device: import("./types.js").Device, shop: string | null, demo: boolean }} Last
 */

/** Storage that may be denied (private browsing) or full: then there is only this page's own memory. @param {() => Storage | undefined} storage */
function guarded(storage) {
  /** @type {Map<string, string>} */
  const spare = new Map();
  return {
    /** @param {string} key */
    read(key) {
      try {
        return JSON.parse(storage()?.getItem(key) ?? spare.get(key) ?? "null");
      } catch {
        return null;
      }
    },
    /** @param {string} key @param {any} value null forgets it */
    write(key, value) {
      try {
        if (value === null) storage()?.removeItem(key);
        else storage()?.setItem(key, JSON.stringify(value));
      } catch {
        // the spare holds it
      }
      if (value === null) spare.delete(key);
      else spare.set(key, JSON.stringify(value));
    },
  };
}

/** @param {{ local?: Storage, session?: Storage }} [stores] */
export function createMemory(stores) {
  const local = guarded(() => stores?.local ?? globalThis.localStorage);
  const tab = guarded(() => stores?.session ?? globalThis.sessionStorage);
  return {
    /** @returns {Last | null} */
    last: () => local.read("wayround.last"),
    /** @param {Last | null} last */
    keepLast: (last) => local.write("wayround.last", last),
    /** Devices that left with something unsent. @returns {string[]} */
    left: () => local.read("wayround.left") ?? [],
    /** @param {string[]} left */
    keepLeft: (left) => local.write("wayround.left", left.length ? left : null),
    /** @param {string} device */
    numbers: (device) => ({
      read: () => Number(local.read(`wayround.seq.${device}`) ?? 0),
      /** @param {number} seq */
      write: (seq) => local.write(`wayround.seq.${device}`, seq),
    }),
    /** When a device last synced whole, RFC 3339. @param {string} device @returns {string | null} */
    synced: (device) => local.read(`wayround.synced.${device}`),
    /** @param {string} device @param {string} at */
    keepSynced: (device, at) => local.write(`wayround.synced.${device}`, at),
    /** @returns {{ id: string, day: string } | null} */
    person: () => tab.read("wayround.person"),
    /** @param {{ id: string, day: string } | null} person */
    keepPerson: (person) => tab.write("wayround.person", person),
  };
}

/** @typedef {ReturnType<typeof createMemory>} Memory */
