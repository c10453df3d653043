// The purge timer of each cabinet as this phone keeps it, in local storage and in the database alike: a reload, a killed
// tab or a locked screen loses nothing, for what counts is stored and the rest follows from the clock.
import { signal } from "@preact/signals";
import { OVER, PURGING, blast, exhaustOff, start } from "../../core/purge.js";
import { loadDraft, newId, person, record, saveDraft } from "../../store/index.js";
import { advance, countedOf, newer, readCopy } from "./purge-copies.js";

/** @typedef {import("../../core/purge.js").Purge} Purge @typedef {import("./purge-copies.js").Kept} Kept */

const slot = (/** @type {string} */ machine) => `wayround.purge.${machine}`;
const draft = (/** @type {string} */ machine) => `purge/${machine}`;

/** Every timer that this phone knows of, by machine. @type {import("@preact/signals").Signal<Record<string, Kept>>} */
export const purges = signal({});

/** @param {string} machine @returns {Kept | null} */
function readHere(machine) {
  try {
    const text = localStorage.getItem(slot(machine));
    return text === null ? null : readCopy(JSON.parse(text));
  } catch (error) {
    return error instanceof SyntaxError ? readCopy("") : null; // no local storage here: the database has it
  }
}

/** @param {string} machine @param {Kept} kept @param {boolean} deep into the database too */
function write(machine, kept, deep) {
  purges.value = { ...purges.peek(), [machine]: kept };
  try {
    localStorage.setItem(slot(machine), JSON.stringify(kept));
  } catch {
    deep = true; // full or denied: then the database alone has it
  }
  if (deep) saveDraft(draft(machine), kept).catch(() => {}); // the carry line says when this phone's storage fails
}

/** Read what is kept of a machine's timer, from both places. @param {string} machine */
export async function recall(machine) {
  const here = newer(readHere(machine), purges.peek()[machine] ?? null);
  if (here) purges.value = { ...purges.peek(), [machine]: here };
  const deep = readCopy(await loadDraft(draft(machine)).catch(() => null));
  const found = newer(newer(readHere(machine), deep), purges.peek()[machine] ?? null);
  if (found) write(machine, found, false);
}

/** @type {Map<string, number>} this page's steady clock at the last look, while it was seen without a break */
const seen = new Map();
globalThis.document?.addEventListener("visibilitychange", () => seen.clear());

/** Count on; returns what is kept now. @param {string} machine @returns {Kept | null} */
export function tick(machine) {
  const kept = newer(readHere(machine), purges.peek()[machine] ?? null);
  if (!kept?.purge || kept.purge.phase !== PURGING) {
    if (kept && kept !== purges.peek()[machine]) purges.value = { ...purges.peek(), [machine]: kept };
    return kept;
  }
  const before = seen.get(machine);
  seen.set(machine, performance.now());
  const purge = advance(kept.purge, Date.now(), before === undefined ? null : performance.now() - before);
  const next = { ...kept, n: kept.n + 1, purge };
  write(machine, next, purge.phase === OVER || next.n % 15 === 0);
  return next;
}

/** @param {string} machine @param {(purge: Purge) => Purge} step */
function change(machine, step) {
  const kept = tick(machine);
  if (!kept?.purge) return;
  seen.delete(machine);
  write(machine, { ...kept, n: kept.n + 1, purge: step(kept.purge) }, true);
}

/** Blasting begins, or begins again: the door is held from now on. @param {string} machine @param {number} seconds the purge time */
export function beginBlasting(machine, seconds) {
  const n = (purges.peek()[machine]?.n ?? 0) + 1;
  seen.delete(machine);
  write(machine, { n, purge: blast(seconds, Date.now()), entry: newId(), kept: false }, true);
}

/** Blasting has stopped, the exhaust runs: the wait begins. @param {string} machine @param {number} seconds */
export function beginPurge(machine, seconds) {
  const now = purges.peek()[machine]?.purge;
  if (!now || now.phase === OVER || now.seconds !== Math.ceil(seconds)) beginBlasting(machine, seconds);
  change(machine, (purge) => start(purge, Date.now()));
}

/** The exhaust stopped before the end. @param {string} machine */
export const exhaustStopped = (machine) => change(machine, (purge) => exhaustOff(purge, Date.now()));

/**
 * Put a purge in the record once: when it is over, or when the door was opened before that. Two tabs do not do it twice.
 * @param {string} machine @param {{ early?: boolean }} [how]
 */
export async function keepPurge(machine, { early = false } = {}) {
  const once = async () => {
    const kept = newer(readHere(machine), purges.peek()[machine] ?? null);
    if (!kept?.purge || kept.kept || !person.peek() || (!early && kept.purge.phase !== OVER)) return;
    const body = { seconds: countedOf(kept), needed: kept.purge.seconds };
    await record([{ id: kept.entry, kind: "purge.run", machine, body }]);
    // Opened early: what was in the cabinet is out, and nothing is left to wait for.
    const purge = early ? { ...kept.purge, phase: OVER, counted: kept.purge.seconds * 1000, hold_until: null } : kept.purge;
    write(machine, { ...kept, n: kept.n + 1, purge, kept: true }, true);
  };
  const { locks } = globalThis.navigator ?? {};
  return locks ? locks.request(`purge ${machine}`, once) : once();
}
