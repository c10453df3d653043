// Taking a stored entry back out of the state, for a voiding or an amendment that the server has not folded yet.
import { KILOGRAMS, addCutMinutes, airQuantity, r6 } from "./fold.js";

/** @typedef {import("./fold.js").Doc} Doc @typedef {import("./fold.js").Effective} Effective */

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

/** @param {any[] | undefined} rows @param {(row: any) => boolean} which */
function takeRow(rows, which) {
  const index = rows?.findIndex(which) ?? -1;
  return index >= 0 && /** @type {any[]} */ (rows).splice(index, 1).length > 0;
}

/** @param {Doc} doc @param {Effective} entry @param {string} quantity */
const takeReading = (doc, { at, by, body }, quantity) => takeRow(doc.readings[quantity], (row) => row.at === at && row.by === by && row.value === body.value);

/** @param {Doc} doc @param {Effective} entry */
function takeChips(doc, { body }) {
  const row = doc.chips?.[body.alloy];
  if (!row) return false;
  const weight = body.weight * KILOGRAMS[body.unit];
  row[body.to] = r6(row[body.to] - weight);
  if (body.dust) row.dust = r6(row.dust - weight);
  if (!row.scrap && !row.waste) delete doc.chips?.[body.alloy];
  return true;
}

/**
 * Where the newest of some entries alone is kept: the section, and the key in it.
 * @type {Record<string, (doc: Doc, body: any) => [Record<string, any> | undefined, string]>}
 */
const PLACES = {
  "purge.run": (doc) => [doc, "purge"],
  "fit.tested": (doc, { person, respirator }) => [doc.people?.[person]?.fits, respirator],
  "training.signed": (doc, { person, machine, topic }) => [doc.people?.[person]?.[machine ? "machines" : "topics"], machine ?? topic],
};

/** Kinds of which this phone may not hold what stood there before the one that is voided. */
export const MAY_WAIT = new Set([...Object.keys(PLACES), "air.checked"]);

/** What says that two bodies are kept in one place. @type {Record<string, (entry: Effective) => string>} */
const SAME = {
  "purge.run": ({ machine }) => String(machine),
  "fit.tested": ({ body }) => `${body.person} ${body.respirator}`,
  "training.signed": ({ body }) => `${body.person} ${body.machine ?? ""} ${body.machine ? "" : body.topic}`,
};

/** The newest of other entries that would be shown in the place of this one. @param {Effective} entry @param {Effective[]} others @returns {Effective | null} */
export function newestTaken(entry, others) {
  const same = SAME[entry.kind];
  if (!same) return null;
  const found = others.filter((one) => one.kind === entry.kind && same(one) === same(entry));
  return found.sort((a, b) => (a.at < b.at ? 1 : -1))[0] ?? null;
}

/**
 * Empty the place, where this entry stands in it and what comes into it instead is on this phone.
 * @param {Doc} doc @param {Effective} entry @param {Effective | null} instead @param {Effective | null} before
 */
function takeNewest(doc, entry, instead, before) {
  const [section, key] = PLACES[entry.kind](doc, entry.body);
  const held = section?.[key];
  if (!section || held?.at !== entry.at || held?.by !== entry.by) return false;
  if (instead ? SAME[entry.kind](instead) !== SAME[entry.kind](entry) : !before) return false;
  return delete section[key];
}

/**
 * Each says whether the entry could be taken back. `instead`: as it is amended, null where it is voided; `before`: the newest
 * other entry that is kept in the same place.
 * @type {Record<string, (doc: Doc, entry: Effective, instead: Effective | null, before: Effective | null) => boolean>}
 */
export const BACK = {
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
  "reading.taken": (doc, entry) => takeReading(doc, entry, entry.body.quantity),
  "air.checked": (doc, entry, instead) => {
    const quantity = airQuantity(entry.body);
    const held = doc.commissioned?.[quantity];
    const stays = instead?.body.commissioning && airQuantity(instead.body) === quantity;
    // What was held against before a commissioning figure is the server's to find.
    if (held && held.at === entry.at && held.by === entry.by && !stays) return false;
    return takeReading(doc, entry, quantity);
  },
  "exposure.measured": (doc, { id, body }) => takeRow(doc.exposures?.[body.agent === "noise" ? "noise" : `${body.agent}/${body.form}`], (row) => row.entry === id),
  "chips.collected": takeChips,
  "purge.run": takeNewest,
  "fit.tested": takeNewest,
  "training.signed": takeNewest,
};

/** Rows back in their order after an old entry was put in again, and what is newer than it in its place. @param {Doc} doc @param {Pick<Doc, "chips" | "commissioned">} held as they stood before that */
export function newestFirst(doc, { chips, commissioned }) {
  for (const [quantity, row] of Object.entries(commissioned ?? {})) {
    if (doc.commissioned && row.at > doc.commissioned[quantity].at) doc.commissioned[quantity] = row;
  }
  for (const rows of [...Object.values(doc.readings), ...Object.values(doc.exposures ?? {})]) rows.sort((a, b) => (a.at < b.at ? 1 : a.at > b.at ? -1 : 0));
  for (const [alloy, row] of Object.entries(doc.chips ?? {})) {
    const was = chips?.[alloy]?.at;
    if (was && was > row.at) row.at = was;
  }
}
