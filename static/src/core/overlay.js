// What this phone shows before the server has answered: its own entries folded on top of the server's state.
import { addCutMinutes, emptyDoc, fold, r6, subjectsOf } from "./fold.js";

/**
 * @typedef {import("./fold.js").Doc} Doc
 * @typedef {import("./fold.js").Effective} Effective
 * @typedef {{ ms: number, entry: Effective }} Timed  `ms`: the time it counts by
 * @typedef {{ machines: Record<string, Doc>, shop: Doc }} Docs
 */

/** By effective time, then id: the order in which entries count. @param {Timed} a @param {Timed} b */
export const inOrder = (a, b) => a.ms - b.ms || (a.entry.id < b.entry.id ? -1 : a.entry.id > b.entry.id ? 1 : 0);

/** @param {Timed} timed @returns {Effective} the entry with its time as the fold keeps it */
const inUtc = ({ ms, entry }) => ({ ...entry, at: new Date(ms).toISOString() });

/** @typedef {{ voided: boolean, bodies: Record<string, any> }} Mending  `bodies`: the newest amended body by kind and machine */

/** Voids and amendments by what they mend. @param {Timed[]} sorted @returns {Map<string, Mending>} */
export function mendings(sorted) {
  const found = new Map();
  for (const { entry: { kind, machine, body } } of sorted) {
    if (kind !== "entry.voided" && kind !== "entry.amended") continue;
    if (!found.has(body.entry)) found.set(body.entry, { voided: false, bodies: {} });
    const sum = found.get(body.entry);
    if (kind === "entry.voided") sum.voided = true;
    else sum.bodies[likeness(body.kind, machine)] = body.body;
  }
  return found;
}

/** An amendment of another kind, or made at another machine, is passed over. @param {string} kind @param {string | null} [machine] */
const likeness = (kind, machine) => `${kind} ${machine ?? "shop"}`;

const MENDS = new Set(["entry.voided", "entry.amended", "definition.revised"]);

/** The entry as mended, or null when it was voided. @param {Effective} entry @param {Map<string, Mending>} by @returns {Effective | null} */
export function mended(entry, by) {
  const sum = by.get(entry.id);
  if (!sum || MENDS.has(entry.kind)) return entry;
  if (sum.voided) return null;
  const body = sum.bodies[likeness(entry.kind, entry.machine)];
  return body ? { ...entry, body } : entry;
}

/** Fold entries from nothing. @param {Timed[]} entries in any order @returns {Docs} */
export function foldAll(entries) {
  return overlay({ machines: {}, shop: emptyDoc() }, entries, new Map());
}

/**
 * The server's state with entries it does not count yet folded on top, in their order.
 * @param {Docs} server @param {Timed[]} pending @param {Map<string, Timed>} known stored entries by id, as they count now
 * @returns {Docs}
 */
export function overlay(server, pending, known) {
  if (!pending.length) return server;
  const docs = copyOnWrite(server);
  const sorted = [...pending].sort(inOrder);
  const by = mendings(sorted);
  for (const [id] of by) {
    const stored = known.get(id);
    if (stored) unfold(docs, stored, by);
  }
  for (const timed of sorted) {
    const entry = mended(timed.entry, by);
    for (const subject of subjectsOf(timed.entry)) {
      if (entry) fold(docs.of(subject), inUtc({ ms: timed.ms, entry }), subject);
    }
  }
  return docs.result;
}

/** @param {Docs} server */
function copyOnWrite(server) {
  const result = { machines: { ...server.machines }, shop: server.shop };
  /** @type {Set<string>} */
  const copied = new Set();
  /** @param {string} subject @returns {Doc} */
  const of = (subject) => {
    const id = subject.slice("machine:".length);
    const doc = subject === "shop" ? result.shop : result.machines[id] ?? emptyDoc();
    if (copied.has(subject)) return doc;
    copied.add(subject);
    const copy = structuredClone(doc);
    if (subject === "shop") result.shop = copy;
    else result.machines[id] = copy;
    return copy;
  };
  return { result, of };
}

/**
 * Take back a stored entry that is voided or amended here, where that has one plain inverse; the rest of the kinds wait
 * for the server, which folds again from the record.
 * @param {ReturnType<typeof copyOnWrite>} docs @param {Timed} stored @param {Map<string, Mending>} by
 */
function unfold(docs, stored, by) {
  const entry = inUtc(stored);
  const back = BACK[entry.kind];
  if (!back) return;
  const [subject] = subjectsOf(entry);
  const doc = docs.of(subject);
  const instead = mended(entry, by);
  if (!back(doc, entry) || !instead) return;
  const { used_at, last_at } = doc; // an old entry put in again must not make the machine look less used
  fold(doc, instead, subject);
  Object.assign(doc, { used_at, last_at });
  for (const rows of Object.values(doc.readings)) rows.sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0));
}

/** @param {Doc} doc @param {Record<string, number>} adds @param {string} at */
function takeOff(doc, adds, at) {
  const all = Object.keys(adds).map((id) => doc.meters[id]);
  // A counter read since then rules over what was added before it.
  if (all.some((meter) => !meter || (meter.face_at !== null && meter.face_at >= at))) return false;
  for (const [id, amount] of Object.entries(adds)) doc.meters[id].total = r6(doc.meters[id].total - amount);
  return true;
}

/** @param {Record<string, any>} section @param {string} id */
function takeOut(section, id) {
  return id in section && delete section[id];
}

/** Each says whether the entry could be taken back. @type {Record<string, (doc: Doc, entry: Effective) => boolean>} */
const BACK = {
  "meter.added": (doc, { at, body }) => takeOff(doc, { [body.meter]: body.amount }, at),
  "batch.run": (doc, { at, body }) => {
    // A cutter changed since then has taken the minutes into a life that is over.
    if (Object.keys(body.cutters ?? {}).some((part) => doc.parts[part]?.at >= at) || !takeOff(doc, body.adds, at)) return false;
    addCutMinutes(doc, body, -1);
    return true;
  },
  "finding.opened": (doc, { id }) => takeOut(doc.findings, id),
  "hazard.noted": (doc, { id }) => takeOut(doc.hazards ?? {}, id),
  "tag.on": (doc, { id }) => takeOut(doc.tags, id),
  "task.raised": (doc, { id }) => takeOut(doc.raised, id),
  "reading.taken": (doc, { at, by, body }) => {
    const rows = doc.readings[body.quantity] ?? [];
    const index = rows.findIndex((row) => row.at === at && row.by === by && row.value === body.value);
    return index >= 0 && rows.splice(index, 1).length > 0;
  },
};
