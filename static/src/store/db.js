// The phone's database. A write counts only when its transaction has completed; a lost connection is opened again.
import { openDB } from "idb";

/**
 * @typedef {import("idb").IDBPDatabase<any>} Database
 * @typedef {import("idb").IDBPTransaction<any, any, "readwrite">} Transaction
 * @typedef {(db: Database, tx: Transaction) => void} Step
 */

/**
 * The schema, as steps that are never changed once released; its version is their number. A step only adds stores and
 * indexes, or rewrites rows inside the transaction it is given: an outbox is never dropped.
 * @type {Step[]}
 */
export const STEPS = [
  (db) => {
    db.createObjectStore("meta");
    db.createObjectStore("definitions", { keyPath: "id" });
    db.createObjectStore("state");
    const entries = db.createObjectStore("entries", { keyPath: "id" });
    entries.createIndex("ms", "ms");
    entries.createIndex("machine", ["machine", "ms"]);
    db.createObjectStore("outbox", { keyPath: "n", autoIncrement: true }).createIndex("id", "id", { unique: true });
    db.createObjectStore("tray", { keyPath: "id" });
    db.createObjectStore("photos", { keyPath: "sha256" });
    db.createObjectStore("uploads", { keyPath: "sha256" });
    db.createObjectStore("drafts", { keyPath: "key" });
  },
];

const OPEN_LIMIT_MS = 5_000;
const RUN_LIMIT_MS = 20_000;

/** The storage of this phone failed; the message is for the person. */
export class StorageError extends Error {
  /** @param {string} message @param {unknown} [cause] */
  constructor(message, cause) {
    super(message, { cause });
    this.name = "StorageError";
  }
}

/** @param {unknown} error */
export const isFull = (error) => error instanceof Error && error.name === "QuotaExceededError";
/** Errors that a lost connection leaves behind; nothing was committed. @param {any} error */
const isLost = (error) => ["InvalidStateError", "UnknownError", "AbortError"].includes(error?.name);

/** One database, named for its device, so that nobody's entries are ever sent as somebody else's. */
export class Vault {
  /**
   * @param {string} device
   * @param {{ steps?: Step[], limit?: number, onTrouble?: (say: string | null) => void }} [options]
   *   `limit`: ms that open() may take. `onTrouble`: a sentence for the person, or null when it is over.
   */
  constructor(device, { steps = STEPS, limit = OPEN_LIMIT_MS, onTrouble = () => {} } = {}) {
    this.name = `wayround-${device}`;
    this.steps = steps;
    this.limit = limit;
    this.onTrouble = onTrouble;
    /** A newer version took over: this page must be reloaded before it writes again. */
    this.outdated = false;
    /** @type {Promise<Database> | null} */
    this.opening = null;
  }

  /** The open connection; opens it when there is none. */
  connection() {
    this.opening ??= this.#openTwice().catch((error) => {
      this.opening = null;
      throw error;
    });
    return this.opening;
  }

  async #openTwice() {
    if (this.outdated) throw new StorageError("A newer Wayround is open in another tab: reload this page. Nothing is lost.");
    try {
      return await this.#openOnce();
    } catch (error) {
      if (/** @type {any} */ (error)?.name === "VersionError") {
        throw new StorageError("This phone's data belongs to a newer Wayround: reload this page.", error);
      }
      try {
        return await this.#openOnce();
      } catch (again) {
        throw new StorageError("This phone's storage does not open. Close other tabs of Wayround, leave private "
          + "browsing, or restart the phone. What is unsent stays where it is.", again);
      }
    }
  }

  /** Safari may leave open() unsettled for ever, so it gets a time limit. @returns {Promise<Database>} */
  async #openOnce() {
    const opened = openDB(this.name, this.steps.length, {
      upgrade: (db, from, _to, tx) => this.steps.slice(from).forEach((step) => step(db, /** @type {any} */ (tx))),
      blocked: () => this.onTrouble("Another tab holds an older version of Wayround: close it, then this one goes on."),
      blocking: (_from, to, event) => this.#giveWay(to, event),
      terminated: () => { this.opening = null; },
    });
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;
    const late = new Promise((_, reject) => {
      timer = setTimeout(() => reject(new StorageError("Opening this phone's storage took too long.")), this.limit);
    });
    try {
      const db = await Promise.race([opened, late]);
      this.onTrouble(null);
      return /** @type {Database} */ (db);
    } catch (error) {
      opened.then((db) => db.close(), () => {}); // should it open after all, it must block nobody
      throw error;
    } finally {
      clearTimeout(timer);
    }
  }

  /** Another tab upgrades (or deletes) the database: step aside at once. @param {number | null} to @param {any} event */
  #giveWay(to, event) {
    event.target.close();
    this.opening = null;
    if (to === null) return;
    this.outdated = true;
    this.onTrouble("A newer Wayround is open in another tab: reload this page. Nothing is lost.");
  }

  /**
   * One transaction. `work` may wait for nothing but requests of `tx`: any other await would commit it early. Resolves
   * with work's result once the transaction is durable; a lost connection is opened again and the work repeated once.
   * @template T
   * @param {string[]} stores @param {"readonly" | "readwrite"} mode @param {(tx: Transaction) => T | Promise<T>} work
   * @returns {Promise<T>}
   */
  async run(stores, mode, work) {
    try {
      return await this.#limited(this.#once(stores, mode, work));
    } catch (error) {
      if (!isLost(error)) throw error;
      await this.close();
      return this.#limited(this.#once(stores, mode, work));
    }
  }

  /**
   * A connection lost without a word leaves its requests unsettled for ever; nobody may wait for them that long.
   * @template T
   * @param {Promise<T>} done @returns {Promise<T>}
   */
  #limited(done) {
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let timer;
    const late = new Promise((_, reject) => {
      timer = setTimeout(() => {
        this.opening = null;
        reject(new StorageError("This phone's storage does not answer. Reload the page, and look whether your last entry is there before you make it again."));
      }, RUN_LIMIT_MS);
    });
    return /** @type {Promise<T>} */ (Promise.race([done, late])).finally(() => clearTimeout(timer));
  }

  /**
   * @template T
   * @param {string[]} stores @param {"readonly" | "readwrite"} mode @param {(tx: Transaction) => T | Promise<T>} work
   * @returns {Promise<T>}
   */
  async #once(stores, mode, work) {
    const db = await this.connection();
    const tx = db.transaction(stores, mode, { durability: "strict" });
    const done = tx.done.then(() => null, (error) => error ?? new Error("the transaction was aborted"));
    let result;
    try {
      result = await work(/** @type {any} */ (tx));
    } catch (error) {
      try {
        tx.abort();
      } catch {
        // it was over already
      }
      // A request fails with the reason of the abort at best; out of room is told only by the transaction.
      const reason = await done;
      throw isFull(reason) ? reason : error;
    }
    const failure = await done;
    if (failure) throw failure;
    return result;
  }

  /** @param {string} store @param {IDBValidKey} key @returns {Promise<any>} */
  get(store, key) {
    return this.run([store], "readonly", (tx) => tx.objectStore(store).get(key));
  }

  /** @param {string} store @returns {Promise<any[]>} */
  all(store) {
    return this.run([store], "readonly", (tx) => tx.objectStore(store).getAll());
  }

  /** Close the connection; the next use opens it again. */
  async close() {
    const { opening } = this;
    this.opening = null;
    const db = await opening?.catch(() => null);
    db?.close();
  }
}
