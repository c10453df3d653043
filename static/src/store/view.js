// What the screens see: signals, filled from this phone's database and never from an answer that was not kept yet.
import { batch, computed, signal } from "@preact/signals";
import { emptyDoc } from "../core/fold.js";
import { inOrder, mended, mendings, overlay } from "../core/overlay.js";
import { withOwn } from "../core/own-alloys.js";
import { clockTrouble, effectiveMs } from "./instants.js";
import { SNOOZES } from "./nudges.js";
import { REMINDERS } from "./reminders.js";

/**
 * @typedef {import("./types.js").Definitions} Definitions
 * @typedef {import("./types.js").Definition} Definition
 * @typedef {import("./types.js").Doc} Doc
 * @typedef {import("./types.js").State} State
 * @typedef {import("./types.js").Entry} Entry
 * @typedef {import("./types.js").EntryRow} EntryRow
 * @typedef {import("./types.js").OutboxRow} OutboxRow
 * @typedef {import("./types.js").TrayItem} TrayItem
 * @typedef {import("./types.js").UploadRow} UploadRow
 * @typedef {import("./types.js").ListedEntry} ListedEntry
 * @typedef {import("../core/overlay.js").Timed} Timed
 * @typedef {{ definitions: any[], state: Map<string, any>, rows: EntryRow[], outbox: OutboxRow[], tray: TrayItem[],
 *   uploads: UploadRow[], reminders: import("./types.js").Reminders | null, snoozes: import("./nudges.js").Snooze[],
 *   meta: { cursor: number, offset: number, gaps: [number, number][] } }} Held
 */

const RECENT_MS = 30 * 86_400_000;
const STORES = ["definitions", "state", "entries", "outbox", "tray", "uploads", "meta"];
/** @type {Record<string, "bays" | "machines" | "checklists" | "tasks" | "items" | "people" | "alloys">} */
const PLURAL = { bay: "bays", machine: "machines", checklist: "checklists", task: "tasks", item: "items", person: "people", alloy: "alloys" };

/** @returns {Held} */
const nothing = () => ({
  definitions: [], state: new Map(), rows: [], outbox: [], tray: [], uploads: [], reminders: null, snoozes: [],
  meta: { cursor: 0, offset: 0, gaps: [] },
});

export function createView() {
  const held = signal(nothing());
  const offset = computed(() => held.value.meta.offset);
  const sorted = computed(() => sort(held.value.definitions));
  const base = computed(() => docsOf(held.value.state, sorted.value));
  const pending = computed(() => pendingOf(held.value, offset.value));
  const library = signal(/** @type {any} */ (null));
  return {
    held,
    /** @type {import("@preact/signals").Signal<import("./types.js").Session>} */
    session: signal({ phase: "starting", owner: false, device: null, shop: null, demo: false, checked: false }),
    /** @type {import("@preact/signals").Signal<import("./types.js").Link>} */
    link: signal("no signal"),
    synced: signal(/** @type {string | null} */ (null)),
    lost: signal(/** @type {string | null} */ (null)),
    left: signal(0),
    storage: signal(/** @type {string | null} */ (null)),
    person: signal(/** @type {Definition | null} */ (null)),
    now: signal(new Date()),
    upkeep: signal(/** @type {any} */ (null)),
    history: signal(/** @type {any} */ (null)),
    library,
    cards: computed(() => withOwn(library.value, sorted.value.alloys)),
    definitions: sorted,
    state: computed(() => stateOf(base.value, pending.value, known(held.value), sorted.value)),
    recent: computed(() => recentOf(held.value, offset.value)),
    unsent: computed(() => held.value.outbox.length),
    head: computed(() => held.value.meta.cursor),
    tray: computed(() => held.value.tray),
    photos: computed(() => held.value.uploads),
    reminders: computed(() => held.value.reminders),
    snoozes: computed(() => held.value.snoozes),
    gaps: computed(() => missing(held.value)),
    clock: computed(() => clockTrouble(offset.value)),
  };
}

/** @typedef {ReturnType<typeof createView>} View */

/** Read everything the screens need, in one transaction. @param {import("./db.js").Vault} vault @returns {Promise<Held>} */
export function readHeld(vault) {
  return vault.run(STORES, "readonly", async (tx) => {
    const all = (/** @type {string} */ name) => tx.objectStore(name).getAll();
    const meta = tx.objectStore("meta");
    const since = IDBKeyRange.lowerBound(Date.now() - RECENT_MS);
    const [definitions, keys, values, rows, outbox, tray, uploads, cursor, offset, gaps, reminders, snoozes] = await Promise.all([
      all("definitions"), tx.objectStore("state").getAllKeys(), all("state"),
      tx.objectStore("entries").index("ms").getAll(since), all("outbox"), all("tray"), all("uploads"),
      meta.get("cursor"), meta.get("offset"), meta.get("gaps"), meta.get(REMINDERS), meta.get(SNOOZES),
    ]);
    return {
      definitions, state: new Map(keys.map((key, index) => [String(key), values[index]])), rows, outbox, tray, uploads,
      reminders: reminders ?? null, snoozes: snoozes ?? [],
      meta: { cursor: cursor ?? 0, offset: offset ?? 0, gaps: gaps ?? [] },
    };
  });
}

/** @param {View} view @param {Held} held */
export function show(view, held) {
  const before = view.held.peek();
  // What did not change keeps its identity, so that no screen is drawn again for nothing.
  const same = (/** @type {any} */ a, /** @type {any} */ b) => JSON.stringify(a) === JSON.stringify(b);
  if (same(before.definitions, held.definitions)) held.definitions = before.definitions;
  if (same(before.reminders, held.reminders)) held.reminders = before.reminders;
  batch(() => { view.held.value = held; });
}

/** Show entries just kept, without reading everything again. @param {View} view @param {Entry[]} entries */
export function showAdded(view, entries) {
  const held = view.held.peek();
  const rows = entries.map((entry) => ({ id: entry.id, entry, made_on: null }));
  view.held.value = { ...held, outbox: [...held.outbox, ...rows] };
}

/** Show nothing: another device's database is to be opened. @param {View} view */
export function showNothing(view) {
  batch(() => {
    view.held.value = nothing();
    view.person.value = null;
    view.upkeep.value = null;
    view.history.value = null;
    view.library.value = null;
    view.lost.value = null;
  });
}

/** @param {any[]} all @returns {Definitions} */
function sort(all) {
  /** @type {Definitions} */
  const sorted = { shop: null, bays: [], machines: [], checklists: [], tasks: [], items: [], people: [], alloys: [], byId: new Map() };
  for (const one of all) {
    sorted.byId.set(one.id, one);
    if (one.type === "shop") sorted.shop = one;
    else if (PLURAL[one.type]) sorted[PLURAL[one.type]].push(one);
  }
  for (const plural of Object.values(PLURAL)) sorted[plural].sort((a, b) => String(a.name).localeCompare(String(b.name)));
  return sorted;
}

/**
 * The server's documents, each machine's meters put back into it. @param {Map<string, any>} state @param {Definitions} definitions
 */
function docsOf(state, { machines }) {
  /** @type {Record<string, Doc>} */
  const docs = {};
  for (const [key, doc] of state) {
    if (key.startsWith("machine:")) docs[key.slice("machine:".length)] = { ...emptyDoc(), ...doc };
  }
  for (const machine of machines) {
    const doc = (docs[machine.id] ??= emptyDoc());
    const own = (machine.meters ?? []).map((/** @type {any} */ { id }) => [id, state.get(`meter:${id}`)]);
    doc.meters = Object.fromEntries(own.filter((/** @type {any[]} */ [, meter]) => meter));
  }
  return { machines: docs, shop: { ...emptyDoc(), ...state.get("shop") } };
}

/** @param {Held} held @param {number} offset @returns {Timed[]} what the server's state, as held here, does not count yet */
function pendingOf({ outbox, rows, meta }, offset) {
  const unsent = outbox.map(({ entry }) => ({ ms: effectiveMs(entry.at, offset), entry }));
  const ahead = rows.filter((row) => row.position === null || row.position > meta.cursor);
  return [...ahead.map(({ ms, entry }) => ({ ms, entry })), ...unsent];
}

/** @param {Held} held @returns {Map<string, Timed>} stored entries as they count now */
function known({ rows, meta }) {
  const counted = rows.filter((row) => row.position !== null && row.position <= meta.cursor);
  const by = mendings([...counted].sort(inOrder));
  return new Map(counted.flatMap(({ id, ms, entry }) => {
    const now = mended(entry, by);
    return now ? [[id, { ms, entry: now }]] : [];
  }));
}

/** @param {ReturnType<typeof docsOf>} base @param {Timed[]} pending @param {Map<string, Timed>} stored @param {Definitions} definitions @returns {State} */
function stateOf(base, pending, stored, { machines }) {
  const docs = overlay(base, pending, stored);
  const blank = { total: 0, base: 0, face: null, face_at: null, at: null, backwards: 0 };
  /** @type {State["meters"]} */
  const meters = {};
  for (const { meters: own = [] } of machines) for (const { id } of own) meters[id] = blank;
  for (const doc of Object.values(docs.machines)) Object.assign(meters, doc.meters);
  return { ...docs, meters };
}

/** @param {Held} held @param {number} offset @returns {ListedEntry[]} newest first */
function recentOf({ rows, outbox }, offset) {
  const all = [
    ...rows.map(({ ms, entry, position }) => ({ ms, entry: { ...entry, ...(position === null ? {} : { position }) } })),
    ...outbox.map(({ entry }) => ({ ms: effectiveMs(entry.at, offset), entry: { ...entry, unsent: true } })),
  ].sort(inOrder);
  return marked(all).reverse();
}

/** Mark what was voided or amended. @param {Timed[]} sorted @returns {ListedEntry[]} */
export function marked(sorted) {
  const by = mendings(sorted);
  return sorted.map(({ entry }) => {
    const sum = by.get(entry.id);
    if (!sum) return /** @type {ListedEntry} */ (entry);
    const amended = sum.bodies[entry.kind];
    return /** @type {ListedEntry} */ ({ ...entry, ...(sum.voided ? { voided: true } : {}), ...(amended ? { amended } : {}) });
  });
}

/** Numbers neither here nor there. @param {Held} held @returns {[number, number][]} */
function missing({ meta, outbox, tray }) {
  const here = new Set([...outbox, ...tray].filter((row) => !row.made_on).map((row) => row.entry.seq));
  /** @type {[number, number][]} */
  const found = [];
  for (const [from, to] of meta.gaps) {
    for (let seq = from; seq <= to; seq++) {
      const last = found[found.length - 1];
      if (here.has(seq)) continue;
      if (last && last[1] === seq - 1) last[1] = seq;
      else found.push([seq, seq]);
    }
  }
  return found;
}
