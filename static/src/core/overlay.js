// What this phone shows before the server has answered: its own entries folded on top of the server's state.
import { emptyDoc, fold, subjectsOf } from "./fold.js";
import { BACK, MAY_WAIT, newestFirst, newestTaken } from "./take-back.js";

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
    if (stored) unfold(docs, stored, by, known);
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

/** Whether what this phone shows may count an entry that is mended here until the server has folded anew. @param {string} kind @param {boolean} voided */
export const waitsForServer = (kind, voided) => (kind in BACK ? voided && MAY_WAIT.has(kind) : kind !== "note.made" && !MENDS.has(kind));

/**
 * Take back a stored entry that is voided or amended here, where that has one plain inverse; the rest of the kinds wait
 * for the server, which folds again from the record.
 * @param {ReturnType<typeof copyOnWrite>} docs @param {Timed} stored @param {Map<string, Mending>} by @param {Map<string, Timed>} known
 */
function unfold(docs, stored, by, known) {
  const entry = inUtc(stored);
  const back = BACK[entry.kind];
  if (!back) return;
  const [subject] = subjectsOf(entry);
  const doc = docs.of(subject);
  const instead = mended(entry, by);
  const before = newestTaken(entry, [...known.values()].flatMap((one) => {
    const now = one.ms <= stored.ms && mended(one.entry, by);
    return now && now.id !== entry.id ? [inUtc({ ms: one.ms, entry: now })] : [];
  }));
  if (!back(doc, entry, instead, before)) return;
  const { used_at, last_at, ...held } = structuredClone(doc); // an old entry put in again must not make the machine look less used
  for (const again of [instead ? null : before, instead]) if (again) fold(doc, again, subject);
  Object.assign(doc, { used_at, last_at });
  newestFirst(doc, held);
}
