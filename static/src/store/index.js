// What the screens import: signals to read, and calls that change something. Nothing else of store/ is for them.
//
// Signals (read with .value; a screen that reads one is drawn again when it changes):
//   session       who this browser is to the server; `phase` says which first screen to show   (types.js, Session)
//   definitions   { shop, bays, machines, checklists, tasks, items, people, alloys, byId }, retired ones among them
//   state         { machines: {id: doc}, meters: {id: meter}, shop: doc }, unsent entries folded in
//   recent        the newest entries, newest first, unsent ones among them                       (types.js, ListedEntry)
//   unsent        how many entries wait on this phone
//   head          the newest position of the record that this phone holds
//   photos        rows of photos that wait or failed
//   tray          entries the server refused, each with its problem
//   link          "here" | "no signal" | "sign in again" | "app too old" | "server trouble"
//   gaps          [[from, to]]: numbers of this phone's entries that neither it nor the server has
//   left          how many earlier enrolments left something unsent on this phone
//   lost          a sentence when this phone's storage was cleared, else null
//   storage       null | "kept" (the browser promised not to clear it) | "may be cleared" | a sentence when it fails
//   synced        when this phone last synced whole (RFC 3339), or null
//   clock         how far this phone's clock is off, in ms (the server's minus the phone's), 0 when within five minutes
//   person        who works at this tab, a definition of people, or null
//   now           a Date, renewed each minute
//   upkeep        what the server last foresaw (GET /upkeep: forecasts, parts, fluids, workload; `as_of`), or null
//   history       what has been in the last 53 weeks, as the server reckoned it (GET /history), or null
//   reminders     what everybody is to be told, as the server said it last (GET /reminders), or null before the first
//   snoozes       [{ id, until, sent? }]: reminders put off on this phone, until an answer of the server's counts it
//   cards         the library's cards (GET /library/cards: alloys, media, limits, rules), the shop's own alloys among them,
//                 or null before the first fetch
//   updateReady   true when a new version waits
import { app } from "./app-store.js";

export { newId } from "../core/uuid7.js";
export { Problem } from "./http.js";
export { makePin } from "./pin.js";

export const { session, definitions, state, recent, unsent, head, photos, tray, link, gaps, left, lost, storage, synced, clock, person, now, upkeep, history, reminders, snoozes, cards } = app.view;
export const { updateReady } = app;

/** Open what this phone has and ask the server who we are. Resolves as soon as there is something to show. */
export const start = () => app.start();

/** First run: make the shop and its owner. @param {{ code: string, shop: object, owner: { name: string, initials: string, pin?: import("./types.js").Pin }, password: string, device_name: string }} form */
export const firstRun = (form) => app.signIn("first", form);

/** The owner's sign-in. @param {string} password @param {string} [deviceName] */
export const ownerIn = (password, deviceName) => app.signIn("owner", { password, ...(deviceName ? { device_name: deviceName } : {}) });

/** End the owner's sign-in; the device stays. */
export const ownerOut = () => app.ownerOut();

/** Enrol by a one-time code. @param {string} code @param {string} deviceName */
export const join = (code, deviceName) => app.signIn("join", { code, device_name: deviceName });

/**
 * This device leaves the shop. Refuses (a Problem) while something is unsent, unless `keepUnsent`: then it stays on
 * this phone and is offered again by `leftBehind()`.
 * @param {boolean} [keepUnsent]
 */
export const leave = (keepUnsent = false) => app.leave(keepUnsent);

/** Unsent entries that an earlier enrolment left on this phone: [{ device, count }]. */
export const leftBehind = () => app.leftBehind();

/** Take over what an earlier enrolment left, to be sent in its name. @param {string} device */
export const bringOver = (device) => app.bringOver(device);

/**
 * Say who is working at this tab, for today. False when the PIN is wrong.
 * @param {string} id @param {string} [pin]
 */
export const choosePerson = (id, pin) => app.choosePerson(id, pin);

/** Nobody is named any more at this tab. */
export const forgetPerson = () => app.forgetPerson();

/**
 * Put entries in the record, all or none. Resolves only when they are safe on this phone; rejects when they are not.
 * `by`, `at`, `seq` and `id` are filled in.
 * @param {import("./types.js").NewEntry[]} entries
 * @returns {Promise<import("./types.js").Entry[]>}
 */
export const record = (entries) => app.record(entries);

/** Void an entry. @param {import("./types.js").Entry} entry @param {string} why */
export const voidEntry = (entry, why) =>
  app.record([{ kind: "entry.voided", machine: entry.machine, body: { entry: entry.id, why } }]);

/** Amend an entry's body. @param {import("./types.js").Entry} entry @param {object} body @param {string} why */
export const amendEntry = (entry, body, why) =>
  app.record([{ kind: "entry.amended", machine: entry.machine, body: { entry: entry.id, kind: entry.kind, body, why } }]);

/** The newest entries at a machine (null: the shop's own), newest first. @param {string | null} machine @param {number} [limit] */
export const entriesOf = (machine, limit = 50) => app.entriesOf(machine, limit);

/** Every entry that this phone keeps (some 100 days) or has not sent, newest first. */
export const allEntries = () => app.allEntries();

/** Ask for `history` anew, where this phone knows of something that came after it. */
export const lookBack = () => app.lookBack();

/**
 * Keep a photo, made smaller, on this phone. `kept` false: there was no room (`why`); record the entry all the same,
 * with the `sha256` as its `photo`.
 * @param {Blob} file
 * @returns {Promise<import("./types.js").Photo>}
 */
export const keepPhoto = (file) => app.keepPhoto(file);

/** A photo's bytes where this phone keeps them, else null. @param {string} sha256 */
export const heldPhoto = (sha256) => app.heldPhoto(sha256);

/** An address to show a photo by: from this phone while it waits, else the server's. @param {string} sha256 */
export const photoAddress = (sha256) => app.photoAddress(sha256);

/** Drafts survive a reload and an update: a round in progress, a form half filled. @param {string} key @param {any} value plain JSON */
export const saveDraft = (key, value) => app.saveDraft(key, value);
/** @param {string} key @returns {Promise<any>} the value, or undefined */
export const loadDraft = (key) => app.loadDraft(key);
/** @param {string} key */
export const dropDraft = (key) => app.dropDraft(key);
/** Every draft, newest first. */
export const drafts = () => app.drafts();

/**
 * Let reminders rest until a moment (RFC 3339), or no longer (null). Kept on this phone first, sent with the next sync.
 * @param {string[]} ids @param {string | null} until
 */
export const snooze = (ids, until) => app.snooze(ids, until);

/** Send a refused entry again, corrected. @param {string} id @param {any} body */
export const resend = (id, body) => app.resend(id, body);
/** Take a refused entry out of the tray: resolves to a file that holds it, to be saved first. @param {string} id @returns {Promise<File>} */
export const trayFile = (id) => app.trayFile(id);
/** After its file was saved. @param {string} id */
export const discard = (id) => app.discard(id);

/** Everything unsent (the tray and waiting photos too) as a file. @returns {Promise<File>} */
export const saveUnsentToFile = () => app.saveUnsentToFile();
/** Read such a file in, on this or another phone of the shop. @param {Blob} file @returns {Promise<{ entries: number, photos: number }>} */
export const readUnsentFile = (file) => app.readUnsentFile(file);

/** Sync now; resolves when the round is over, whatever came of it (see `link`). */
export const syncNow = () => app.syncNow();

/**
 * Ask the server (set-up, records, due): resolves to its JSON, rejects with a Problem, whose `offline` is true when
 * there was no answer. Path below /api/v1, such as "/definitions/machine". `etag` is sent as If-Match; with
 * `withTag` the answer is { body, etag }.
 * @param {"GET" | "POST" | "PUT" | "DELETE"} method @param {string} path @param {any} [body]
 * @param {{ etag?: string, withTag?: boolean }} [options]
 */
export const ask = (method, path, body, options) => app.ask(method, path, body, options);

/** Use the version that waits: every tab reloads once; drafts survive. */
export const applyUpdate = () => app.applyUpdate();
