// The store as one object: opens the right database, keeps the signals and the sync in step with it.
import { inOrder } from "../core/overlay.js";
import { createCards, createHistory } from "./cards.js";
import { Vault } from "./db.js";
import { ask, Problem } from "./http.js";
import { storedMs } from "./instants.js";
import { createMemory } from "./memory.js";
import { keepSnoozes } from "./nudges.js";
import * as outbox from "./outbox.js";
import * as photoStore from "./photos.js";
import { prune } from "./pull.js";
import { fetchReminders } from "./reminders.js";
import * as sessions from "./session.js";
import { Sync } from "./sync.js";
import { applyUpdate, lookForUpdate, updateReady, watchForUpdates } from "./update.js";
import { createView, marked, readHeld, show, showAdded, showNothing } from "./view.js";

/**
 * @typedef {import("./types.js").Device} Device
 * @typedef {import("./types.js").NewEntry} NewEntry
 * @typedef {import("./types.js").ListedEntry} ListedEntry
 * @typedef {{ fetch?: import("./http.js").Fetch, locks?: LockManager | null, memory?: import("./memory.js").Memory }} Outside
 */

const MINUTE_MS = 60_000;
// Seldom needed, so not part of the first load; the service worker has them for when there is no signal.
const unsentFile = () => import("./unsent-file.js");
const leaving = () => import("./leaving.js");
const webpush = () => import("./webpush.js");

export class Store {
  /** @param {Outside} [outside] what it reaches outside itself; tests bring their own */
  constructor({ fetch = (...args) => globalThis.fetch(...args), locks = globalThis.navigator?.locks ?? null, memory = createMemory() } = {}) {
    this.fetch = fetch;
    this.locks = locks;
    this.memory = memory;
    this.view = createView();
    this.cards = createCards(this.view.library, fetch);
    this.history = createHistory(this.view.history, fetch);
    this.updateReady = updateReady;
    /** @type {Vault | null} */
    this.vault = null;
    /** @type {Sync | null} */
    this.sync = null;
    /** @type {BroadcastChannel | null} */
    this.tabs = null;
    /** @type {Promise<void> | null} */
    this.reading = null;
    this.readAgain = false;
    /** What the browser promised about this phone's storage. @type {"kept" | "may be cleared" | null} */
    this.promise = null;
    /** Whether this page has looked after its messages since it was opened. */
    this.mended = false;
    /** The question to the server that a start asks. */
    this.asking = Promise.resolve();
  }

  async start() {
    if (typeof window !== "undefined") {
      setInterval(() => { this.view.now.value = new Date(); }, MINUTE_MS);
      void watchForUpdates();
    }
    await sessions.begin(this);
  }

  /** Open a device's database and begin to sync; the one open before is closed first. @param {Device} device */
  async open(device) {
    await this.shut();
    const vault = new Vault(device.id, { onTrouble: (say) => { this.view.storage.value = say ?? this.promise; } });
    this.vault = vault;
    this.countLeft(device.id);
    this.view.synced.value = this.memory.synced(device.id);
    let shown = await this.#tryRead();
    this.sync = new Sync({
      vault, fetch: this.fetch, locks: this.locks,
      onMoved: () => this.#moved(),
      onLink: (link) => {
        this.view.link.value = link;
        if (link === "here") {
          this.#synced(device.id);
          void this.#lookAhead(vault);
          void this.#lookReminders(vault);
          void this.cards.fetch(vault, () => vault === this.vault);
          void this.#mendPush(device.id);
          void this.history.fetch(vault, () => vault === this.vault);
        }
        if (!shown) void this.#tryRead().then((done) => { shown = done; });
        if (link === "app too old") lookForUpdate();
      },
      onFault: (error) => { this.view.storage.value = error instanceof Error ? error.message : String(error); },
    });
    this.#hearTabs(vault.name);
    this.sync.start();
    void this.#recallAhead(vault);
    void this.cards.recall(vault, () => vault === this.vault);
    void this.history.recall(vault, () => vault === this.vault);
    void this.#housekeeping(vault);
  }

  /** What the server foresaw when it was last asked; storage that does not answer holds up nothing. @param {Vault} vault */
  async #recallAhead(vault) {
    const kept = await vault.get("meta", "upkeep").catch(() => null);
    if (vault === this.vault) this.view.upkeep.value ??= kept ?? null;
  }

  /** @param {string} device */
  #synced(device) {
    const at = new Date().toISOString();
    this.view.synced.value = at;
    this.memory.keepSynced(device, at);
  }

  /**
   * Keep what the server foresees, for when it cannot be asked. Unchanged, it comes from the browser's own cache.
   * @param {Vault} vault
   */
  async #lookAhead(vault) {
    try {
      const ahead = await ask(this.fetch, "GET", "/upkeep");
      if (vault !== this.vault || !ahead?.machines || ahead.as_of === this.view.upkeep.value?.as_of) return;
      await vault.run(["meta"], "readwrite", (tx) => tx.objectStore("meta").put(ahead, "upkeep"));
      this.view.upkeep.value = ahead;
    } catch {
      // What was kept before stands, with its date.
    }
  }

  /** Keep what people are to be told, for when the server cannot be asked. @param {Vault} vault */
  async #lookReminders(vault) {
    try {
      if (await fetchReminders(vault, this.fetch, () => vault === this.vault)) this.#moved();
    } catch {
      // What was kept before stands.
    }
  }

  /** Where this phone takes messages and the browser changed its end of them meanwhile: sign up anew, once a start. @param {string} device */
  async #mendPush(device) {
    if (this.mended || globalThis.Notification?.permission !== "granted") return;
    this.mended = true;
    await webpush().then(({ mendHere }) => mendHere(this.fetch, device)).catch(() => {}); // the next start tries again
  }

  /** Enrolments from before this one that hold something unsent. @param {string | undefined} own the device that is not counted */
  countLeft(own) {
    this.view.left.value = this.memory.left().filter((id) => id !== own).length;
  }

  /** Read, or say why this phone's storage cannot be read; each round of syncing tries again. */
  async #tryRead() {
    try {
      await this.read();
      return true;
    } catch (error) {
      this.view.storage.value = error instanceof Error ? error.message : String(error);
      return false;
    }
  }

  async shut() {
    await this.sync?.close();
    this.tabs?.close();
    await this.vault?.close();
    this.sync = this.vault = this.tabs = null;
    showNothing(this.view);
  }

  /** @param {string} name */
  #hearTabs(name) {
    if (typeof BroadcastChannel === "undefined") return;
    this.tabs = new BroadcastChannel(name);
    this.tabs.onmessage = () => void this.#tryRead();
    /** @type {any} */ (this.tabs).unref?.(); // under node, no reason to stay awake
  }

  #moved() {
    this.tabs?.postMessage("moved");
    void this.#tryRead();
  }

  /** Show what the database holds. Calls that come while one is under way share the next one. @returns {Promise<void>} */
  async read() {
    if (this.reading) {
      this.readAgain = true;
      return this.reading;
    }
    this.reading = (async () => {
      do {
        this.readAgain = false;
        const { vault } = this;
        const held = vault && await readHeld(vault);
        if (held && vault === this.vault) show(this.view, held);
      } while (this.readAgain);
    })();
    try {
      await this.reading;
    } finally {
      this.reading = null;
    }
    sessions.refreshPerson(this);
  }

  /** Ask that storage be kept, and clear out what is old. @param {Vault} vault */
  async #housekeeping(vault) {
    try {
      const kept = await globalThis.navigator?.storage?.persist?.();
      if (kept !== undefined) this.promise = kept ? "kept" : "may be cleared";
      this.view.storage.value ??= this.promise;
      await prune(vault);
      await photoStore.sweep(vault);
    } catch {
      // The next start tries again; nothing depends on it.
    }
  }

  /** The open database; without one nothing can be kept, and it says so. */
  get opened() {
    if (this.vault) return this.vault;
    throw new Problem({ title: "Not joined", detail: "This phone has not joined a shop yet." });
  }

  /** @param {NewEntry[]} made */
  async record(made) {
    const { person } = this.view;
    if (!person.value) throw new Problem({ title: "Who is it?", detail: "Say who you are first: an entry is somebody's." });
    if (!made.length) return [];
    const vault = this.opened;
    const device = this.view.session.value.device;
    const seqStore = device ? this.memory.numbers(device.id) : undefined;
    const entries = await outbox.append(vault, made, person.value.id, { seqStore });
    if (vault === this.vault) showAdded(this.view, entries);
    this.tabs?.postMessage("moved");
    this.sync?.soon();
    return entries;
  }

  /** @param {string | null} machine @param {number} limit @returns {Promise<ListedEntry[]>} */
  async entriesOf(machine, limit) {
    const key = machine ?? "";
    const range = IDBKeyRange.bound([key, -Infinity], [key, Infinity]);
    const rows = await this.opened.run(["entries"], "readonly", async (tx) => {
      const found = [];
      let cursor = await tx.objectStore("entries").index("machine").openCursor(range, "prev");
      for (; cursor && found.length < limit; cursor = await cursor.continue()) found.push(cursor.value);
      return found;
    });
    const unsent = this.view.recent.value.filter((entry) => entry.unsent && entry.machine === machine);
    const stored = rows.map(({ ms, entry, position }) => ({ ms, entry: { ...entry, position } }));
    const all = [...stored, ...unsent.map((entry) => ({ ms: storedMs(entry), entry }))].sort(inOrder);
    return marked(all).reverse().slice(0, limit);
  }

  /** Ask for what has been, where this phone holds entries that came after what it keeps of it. */
  async lookBack() {
    const { vault, view } = this;
    if (vault && (view.history.value?.head ?? -1) < view.head.value) await this.history.fetch(vault, () => vault === this.vault, true);
  }

  /** @returns {Promise<ListedEntry[]>} newest first */
  async allEntries() {
    const rows = await this.opened.all("entries");
    const unsent = this.view.recent.value.filter((entry) => entry.unsent);
    const all = [
      ...rows.map(({ ms, entry, position }) => ({ ms, entry: { ...entry, ...(position === null ? {} : { position }) } })),
      ...unsent.map((entry) => ({ ms: storedMs(entry), entry })),
    ].sort(inOrder);
    return marked(all).reverse();
  }

  /** @param {Blob} file */
  async keepPhoto(file) {
    return photoStore.keep(this.opened, await photoStore.shrink(file));
  }

  /** @param {string} sha256 @returns {Promise<Blob | null>} */
  async heldPhoto(sha256) {
    const held = await this.vault?.get("photos", sha256);
    return held ? new Blob([held.bytes], { type: held.type }) : null;
  }

  /** @param {string} sha256 */
  async photoAddress(sha256) {
    const held = await this.vault?.get("photos", sha256);
    return held ? URL.createObjectURL(new Blob([held.bytes], { type: held.type })) : `/api/v1/photos/${sha256}`;
  }

  /** @param {string} key @param {any} value */
  async saveDraft(key, value) {
    const row = { key, value, at: new Date().toISOString() };
    await this.opened.run(["drafts"], "readwrite", (tx) => tx.objectStore("drafts").put(row));
  }

  /** @param {string} key */
  async loadDraft(key) {
    return (await this.opened.get("drafts", key))?.value;
  }

  /** @param {string} key */
  async dropDraft(key) {
    await this.opened.run(["drafts"], "readwrite", (tx) => tx.objectStore("drafts").delete(key));
  }

  /** @returns {Promise<import("./types.js").Draft[]>} */
  async drafts() {
    return (await this.opened.all("drafts")).sort((a, b) => (a.at < b.at ? 1 : -1));
  }

  /** @param {string[]} ids @param {string | null} until */
  async snooze(ids, until) {
    await keepSnoozes(this.opened, ids, until);
    this.tabs?.postMessage("moved");
    await this.read();
    this.sync?.soon();
  }

  /** @param {string} id @param {any} body */
  async resend(id, body) {
    const device = this.view.session.value.device;
    await outbox.resend(this.opened, id, body, device ? this.memory.numbers(device.id) : undefined);
    this.#moved();
    this.sync?.soon();
  }

  /** @param {string} id */
  async trayFile(id) {
    const { writeFile } = await unsentFile();
    return writeFile(this.opened, this.#owner(), id);
  }

  /** @param {string} id */
  async discard(id) {
    await outbox.discard(this.opened, id);
    this.#moved();
  }

  #owner() {
    const { session, definitions } = this.view;
    return { id: session.value.device?.id ?? "", shop: definitions.value.shop?.id ?? null };
  }

  async saveUnsentToFile() {
    const { writeFile } = await unsentFile();
    return writeFile(this.opened, this.#owner());
  }

  /** @param {Blob} file */
  async readUnsentFile(file) {
    const { readFile } = await unsentFile();
    const read = await readFile(this.opened, file, this.#owner());
    this.#moved();
    this.sync?.soon();
    return read;
  }

  async syncNow() {
    return this.sync?.run();
  }

  /** @param {"GET" | "POST" | "PUT" | "DELETE"} method @param {string} path @param {any} body @param {{ etag?: string, withTag?: boolean }} [options] */
  async ask(method, path, body, options) {
    const answer = await ask(this.fetch, method, path, { body, ...options });
    if (method !== "GET") this.sync?.soon(); // an edit comes back as a definition
    return answer;
  }

  applyUpdate() {
    applyUpdate();
  }

  /** @param {"first" | "owner" | "join"} way @param {any} form */
  signIn(way, form) {
    return sessions.signIn(this, way, form);
  }

  ownerOut() {
    return sessions.ownerOut(this);
  }

  /** @param {boolean} keepUnsent */
  async leave(keepUnsent) {
    return (await leaving()).leave(this, keepUnsent);
  }

  async leftBehind() {
    return (await leaving()).leftBehind(this);
  }

  /** @param {string} device */
  async bringOver(device) {
    return (await leaving()).bringOver(this, device);
  }

  /** @param {string} id @param {string} [pin] */
  choosePerson(id, pin) {
    return sessions.choosePerson(this, id, pin);
  }

  forgetPerson() {
    sessions.forgetPerson(this);
  }
}

export const app = new Store();
