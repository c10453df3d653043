// What `judge` must know of a task today; twin of `facts` in webapp/reminders/today.py.
import { shopDate } from "./dates.js";

/**
 * @typedef {import("./fold.js").Doc} Doc
 * @typedef {import("./due.js").Facts} Facts
 * @typedef {{ id: string, kind: string, unit: string }} MeterDefinition
 * @typedef {{ meters: MeterDefinition[], parts: { id: string, kind: string }[], fluids?: { id: string, kind: string }[] }} MachineDefinition
 * @typedef {{ id: string, start: string, checklist?: string | null, meter_start?: Record<string, number>, dates?: string[] }} TaskDefinition
 * @typedef {{ now: number, zone: string }} Clock `now` in ms since 1970, `zone` an IANA name
 */

/** @param {string} at RFC 3339 @param {string} zone */
export const dayOf = (at, zone) => shopDate(Date.parse(at), zone);

/**
 * @param {TaskDefinition} task
 * @param {MachineDefinition | null} machine null for a task of the shop
 * @param {Doc} doc the machine's document, or the shop's
 * @param {Clock} clock
 * @returns {Facts}
 */
export function factsOf(task, machine, doc, { now, zone }) {
  const kinds = Object.fromEntries((machine?.meters ?? []).map((meter) => [meter.id, meter.kind]));
  const today = shopDate(now, zone);
  const done = lastDone(task, doc);
  const deferred = doc.tasks[task.id]?.deferred ?? null;
  const sinceBack = doc.back_at === null || (done !== null && done.at > doc.back_at);
  return {
    today,
    in_service: Object.keys(doc.tags).length === 0,
    start: task.start,
    done: done && momentOf(done.at, done.meters, kinds, zone),
    deferred_to: deferred && (done === null || deferred.at > done.at) ? deferred.to : null,
    meters: byKind(Object.fromEntries(Object.entries(doc.meters).map(([id, meter]) => [id, meter.total])), kinds),
    readings: newest(doc, "value"),
    done_today: done !== null && dayOf(done.at, zone) === today && sinceBack,
    used_today: doc.used_at !== null && dayOf(doc.used_at, zone) === today,
    events: eventsOf(machine, doc, kinds, zone),
    meter_start: byKind(task.meter_start ?? {}, kinds),
    dates: task.dates ?? [],
    units: { ...newest(doc, "unit"), ...Object.fromEntries((machine?.meters ?? []).map((meter) => [meter.kind, meter.unit])) },
  };
}

/** The newest of the task's own doing and its checklist's round. @param {TaskDefinition} task @param {Doc} doc */
export function lastDone(task, doc) {
  const own = doc.tasks[task.id];
  const walked = task.checklist ? doc.rounds[task.checklist] : null;
  const found = [own?.at ? own : null, walked ?? null].filter((row) => row !== null);
  return found.reduce((best, row) => (best === null || row.at > best.at ? row : best), /** @type {any} */ (null));
}

/** The newest value, or unit, of each quantity. @param {Doc} doc @param {"value" | "unit"} what */
function newest(doc, what) {
  const rows = Object.entries(doc.readings).filter(([, list]) => list.length > 0);
  return Object.fromEntries(rows.map(([quantity, list]) => [quantity, list[0][what]]));
}

/**
 * The newest change of each wearing part and fluid, by kind and by id, and the last return to service.
 * @param {MachineDefinition | null} machine @param {Doc} doc @param {Record<string, string>} kinds @param {string} zone
 */
function eventsOf(machine, doc, kinds, zone) {
  const parts = (machine?.parts ?? []).flatMap(({ id, kind }) => [kind, id].map((by) => ({ name: `part.changed/${by}`, at: doc.parts[id]?.at, meters: doc.parts[id]?.meters })));
  const fluids = (machine?.fluids ?? []).flatMap(({ id, kind }) => [kind, id].map((by) => ({ name: `fluid.changed/${by}`, at: doc.fluids[id]?.changed_at, meters: doc.fluids[id]?.changed_meters })));
  const all = [...parts, ...fluids, { name: "tag.off", at: doc.back_at, meters: {} }].filter(({ at }) => at);
  all.sort((a, b) => (a.at < b.at ? -1 : a.at > b.at ? 1 : 0));
  return Object.fromEntries(all.map(({ name, at, meters }) => [name, momentOf(at, meters, kinds, zone)]));
}

/** When something happened, and how far the meters had run by then.
 * @param {string} at @param {Record<string, number>} meters @param {Record<string, string>} kinds @param {string} zone */
const momentOf = (at, meters, kinds, zone) => ({ at, date: dayOf(at, zone), meters: byKind(meters, kinds) });

/** @param {Record<string, number>} totals by meter id @param {Record<string, string>} kinds @returns {Record<string, number>} */
function byKind(totals, kinds) {
  const known = Object.keys(totals).sort().filter((id) => id in kinds);
  return Object.fromEntries(known.map((id) => [kinds[id], totals[id]]));
}
