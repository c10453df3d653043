// Which entries fit what is asked for: the same on the phone, over what it keeps, as on the server over the whole record. Pure.
import { shopDate } from "../../core/dates.js";

/**
 * @typedef {import("../entries.js").Row} Row
 * @typedef {{ machine: string, kind: string, person: string, from: string, to: string, alloy: string, finding: string }} Filter all "" where nothing is asked; `machine` "shop": no machine; days are the shop's, both included
 */

/** @type {(keyof Filter)[]} */
export const FIELDS = ["machine", "kind", "person", "from", "to", "alloy", "finding"];

/** @param {URLSearchParams} query @returns {Filter} */
export const filterOf = (query) => /** @type {Filter} */ (Object.fromEntries(FIELDS.map((field) => [field, query.get(field) ?? ""])));

/** What is asked, as an address and the server take it. @param {Filter} filter */
export const queryOf = (filter) => new URLSearchParams(FIELDS.filter((field) => filter[field]).map((field) => [field, filter[field]]));

/** @param {Row} entry */
export const timeOf = (entry) => Date.parse(entry.receipt?.effective_at ?? entry.at);

/** The metals that an entry names, first or as amended. @param {Row} entry @returns {string[]} */
export const metalsOf = ({ body, amended }) => [body, amended ?? {}].flatMap((one) => [one.alloy, one.material]).filter((one) => typeof one === "string" && one);

/**
 * What belongs to a finding, of these entries: the round it came of, itself, tags hung and tasks raised for it, what
 * became of those, and its closing. @param {Row[]} rows @param {string} finding @returns {Set<string>}
 */
export function chainOf(rows, finding) {
  const found = rows.find(({ id, kind }) => id === finding && kind === "finding.opened");
  if (!found) return new Set();
  const direct = rows.filter(({ body, kind }) => body.finding === finding && ["tag.on", "task.raised", "finding.closed"].includes(kind)).map(({ id }) => id);
  const further = rows.filter(({ body, kind }) => (kind === "tag.off" && direct.includes(body.tag))
    || (["task.done", "task.deferred"].includes(kind) && direct.includes(body.task))).map(({ id }) => id);
  return new Set([finding, ...direct, ...further, ...(found.body.round ? [found.body.round] : [])]);
}

/** @param {Row[]} rows @param {Filter} filter @param {string} zone @returns {Row[]} */
export function matching(rows, filter, zone) {
  const { machine, kind, person, from, to, alloy, finding } = filter;
  const chain = finding ? chainOf(rows, finding) : null;
  const metal = alloy.toLowerCase();
  return rows.filter((entry) => {
    if (machine && (entry.machine ?? "shop") !== machine) return false;
    if ((kind && entry.kind !== kind) || (person && entry.by !== person) || (chain && !chain.has(entry.id))) return false;
    if (metal && !metalsOf(entry).some((one) => one.toLowerCase() === metal)) return false;
    if (!from && !to) return true;
    const day = shopDate(timeOf(entry), zone);
    return (!from || day >= from) && (!to || day <= to);
  });
}

/** Two lists as one, newest first, each entry once; the first list's rows count. @param {Row[]} here @param {Row[]} more @returns {Row[]} */
export function together(here, more) {
  const known = new Set(here.map(({ id }) => id));
  return [...here, ...more.filter(({ id }) => !known.has(id))].sort((a, b) => timeOf(b) - timeOf(a) || (a.id < b.id ? 1 : -1));
}
