// When to sync, and what to say about it. One tab at a time; without Web Locks too, since the server takes an entry
// once however often it is sent. Needs no Background Sync: start, online, visible, a timer and each new entry are enough.
import { sendSnoozes } from "./nudges.js";
import { pullAll, pullSnapshot } from "./pull.js";
import { MOST_BYTES, MOST_ENTRIES, pushAll } from "./push.js";
import { uploadAll } from "./uploads.js";

/**
 * @typedef {import("./types.js").Link} Link
 * @typedef {import("./push.js").Halt} Halt
 * @typedef {{ vault: import("./db.js").Vault, fetch: import("./http.js").Fetch, locks?: LockManager | null,
 *   onMoved: () => void, onLink: (link: Link) => void, onFault?: (error: unknown) => void }} Parts
 */

const LOCK_LIMIT_MS = 30_000;
const IDLE_MS = 60_000;
const FIRST_WAIT_MS = 2_000;
const LONGEST_WAIT_MS = 5 * 60_000;

export class Sync {
  /** @param {Parts} parts */
  constructor(parts) {
    this.parts = parts;
    this.failures = 0;
    this.closed = false;
    /** @type {Promise<Link> | null} */
    this.running = null;
    /** @type {Promise<Link> | null} */
    this.following = null;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.timer = undefined;
    /** @type {AbortController} */
    this.ears = new AbortController();
  }

  /** Sync now and whenever there is reason to. */
  start() {
    const { signal } = this.ears;
    const now = () => void this.run();
    if (typeof window !== "undefined") {
      window.addEventListener("online", now, { signal });
      window.addEventListener("pageshow", now, { signal });
      document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && now(), { signal });
    }
    now();
  }

  /** Stop for good: another device's database is to be opened. Waits for the round under way. */
  async close() {
    this.closed = true;
    this.ears.abort();
    clearTimeout(this.timer);
    await Promise.allSettled([this.running, this.following]);
  }

  /** Sync soon: several entries made at once go in one batch. */
  soon() {
    if (this.closed) return;
    clearTimeout(this.timer);
    this.timer = setTimeout(() => void this.run(), 50);
  }

  /**
   * One round, or the next one when a round is under way: it may have read the outbox already.
   * @returns {Promise<Link>} what became of it; never rejects
   */
  run() {
    if (this.closed) return Promise.resolve("no signal");
    if (!this.running) {
      this.running = this.#round().finally(() => { this.running = null; });
      return this.running;
    }
    this.following ??= this.running.then(() => {
      this.following = null;
      return this.run();
    });
    return this.following;
  }

  /** @returns {Promise<Link>} */
  async #round() {
    clearTimeout(this.timer);
    /** @type {Halt} */
    let halt;
    try {
      halt = await this.#locked();
    } catch (error) {
      // The phone's own storage failed: nothing was acknowledged, so nothing is lost.
      this.parts.onFault?.(error);
      halt = { link: "server trouble", wait: null };
    }
    const link = halt?.link ?? "here";
    this.failures = halt ? this.failures + 1 : 0;
    this.parts.onLink(link);
    this.#again(halt);
    return link;
  }

  /** @param {Halt} halt */
  #again(halt) {
    if (this.closed || halt?.link === "app too old") return; // until the page is loaded anew, or a person asks
    const grown = Math.min(LONGEST_WAIT_MS, FIRST_WAIT_MS * 2 ** Math.min(this.failures - 1, 10));
    const wait = halt ? Math.max(halt.wait ?? 0, grown * (0.75 + Math.random() / 2)) : IDLE_MS;
    this.timer = setTimeout(() => void this.run(), Math.min(wait, 2 ** 30));
  }

  /** @returns {Promise<Halt>} */
  async #locked() {
    const { locks, vault } = this.parts;
    if (!locks) return this.#trip();
    const limit = new AbortController();
    // A tab that the phone froze may hold the lock for ever; syncing without it is only wasteful, not wrong.
    const timer = setTimeout(() => limit.abort(), LOCK_LIMIT_MS);
    try {
      return await locks.request(`sync ${vault.name}`, { signal: limit.signal }, () => {
        clearTimeout(timer);
        return this.#trip();
      });
    } catch (error) {
      if (!limit.signal.aborted) throw error;
      return this.#trip();
    } finally {
      clearTimeout(timer);
    }
  }

  /** Records first, then what was put off, then what others made, photos last. @returns {Promise<Halt>} */
  async #trip() {
    const { vault, fetch, onMoved } = this.parts;
    const offset = (await vault.get("meta", "offset")) ?? 0;
    const trip = { vault, fetch, offset, bytes: MOST_BYTES, count: MOST_ENTRIES, moved: onMoved };
    // A phone whose storage was cleared learns its last number from the snapshot before it numbers anything.
    const first = (await vault.get("meta", "cursor")) === undefined;
    const sent = (first ? await pullSnapshot(trip) : null) ?? (await pushAll(trip));
    const late = sent ? null : await sendSnoozes(vault, fetch);
    const fetched = sent ?? (await pullAll(trip));
    // A snapshot may have put back what the server lost; otherwise nothing waits by now.
    return fetched ?? (await pushAll(trip)) ?? (await uploadAll(trip)) ?? late;
  }
}
