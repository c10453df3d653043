// A machine's definition as the values of a form, and those values as a definition or errors that say the mend.
import { METERS } from "../../core/due.js";
import { readNumber } from "../../kit/numbers.js";
import { bandValues, readBand } from "./bands.js";
import { cabinetValues, readCabinet } from "./cabinet-values.js";
import { careValues, readCare } from "./fluid-values.js";
import { memberErrors } from "./member-keys.js";
import { named } from "./naming.js";

/** @typedef {import("./member-keys.js").Member} Member */
/** @typedef {Record<string, string | null>} Errors */

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/**
 * @param {any} machine a definition, or nothing for a new one
 * @param {{ bay?: string, us?: boolean, cabinet?: Partial<import("./cabinet-values.js").CabinetTyped> }} [begun] `cabinet`: figures that a phone kept for itself before
 */
export const machineValues = (machine, { bay = "", us = true, cabinet } = {}) => ({
  name: text(machine?.name), family: text(machine?.family ?? "other"), bay: text(machine ? machine.bay : bay),
  maker: text(machine?.maker), model: text(machine?.model), serial: text(machine?.serial), notes: text(machine?.notes),
  cautions: /** @type {string[]} */ (machine?.cautions ?? []),
  meters: (machine?.meters ?? []).map((/** @type {any} */ one) => ({ ...one })),
  parts: (machine?.parts ?? []).map((/** @type {any} */ one) => ({ id: one.id, kind: text(one.kind), name: text(one.name), meter: text(one.meter), item: text(one.item),
    grade: text(one.grade), planned: text(one.planned_cost), unplanned: text(one.unplanned_cost) })),
  feed: feedValues(machine?.feed),
  cabinet: cabinetValues(machine?.cabinet, us, cabinet),
  fluids: (machine?.fluids ?? []).map((/** @type {any} */ one) => ({
    id: one.id, kind: text(one.kind), name: text(one.name), capacity: text(one.capacity), unit: one.unit, factor: text(one.factor), quantity: text(one.quantity), ...bandValues(one.band),
    ...careValues(one),
  })),
});

/** What a new meter of a kind is called, and its unit. @param {string} kind @param {string} units the shop's */
export function usualMeter(kind, units) {
  const [name, unit] = METERS[kind] ?? ["", ""];
  return { kind, name: name.charAt(0).toUpperCase() + name.slice(1), unit: kind === "cut_area" && units === "metric" ? "sq cm" : unit };
}

/** @param {Member} one @param {Member[]} all */
function readMeter(one, all) {
  const again = all.filter(({ kind }) => kind === one.kind).length > 1;
  const errors = {
    kind: one.kind in METERS ? (again ? "Two meters count the same. Rules could not tell them apart: keep one of them." : null) : "Nothing is chosen. Choose what it counts.",
    name: named(one.name, "The meter's name", 80), unit: named(one.unit, "The unit", 12),
  };
  return { errors, body: { ...one, name: one.name.trim(), unit: one.unit.trim() } };
}

/** A draft of an older app has no costs and no grade. @param {Member} one */
function readPart({ id, kind, name, meter, item, grade = "", planned = "", unplanned = "" }) {
  const cost = (/** @type {string} */ typed, /** @type {string} */ label) => readNumber(typed, { name: label, optional: true, above: 0, max: 1e7 });
  const [early, late] = [cost(planned, "A planned change"), cost(unplanned, "A failure at work")];
  const long = grade.trim().length > 60 ? `The grade is ${grade.trim().length} letters long. Keep it to 60.` : null;
  const errors = { kind: named(kind, "The kind", 30), name: named(name, "The name", 80), grade: long, planned: early.error, unplanned: late.error };
  const more = Object.entries({ grade: grade.trim() || null, planned_cost: early.value, unplanned_cost: late.value }).filter(([, value]) => value !== null);
  return { errors, body: { id, kind: kind.trim(), name: name.trim(), meter: meter || null, item: item || null, ...Object.fromEntries(more) } };
}

/** The agent that counts a meter, as typed. @param {any} feed */
const feedValues = (feed) => ({ url: text(feed?.url), data_item: text(feed?.data_item), meter: text(feed?.meter) });

/** All of it or nothing. @param {ReturnType<typeof feedValues>} [feed] a draft of an older app has none @returns {{ errors: Errors, body: any }} */
function readFeed({ url, data_item, meter } = feedValues(null)) {
  if (!url.trim() && !data_item.trim() && !meter) return { errors: {}, body: {} };
  const errors = {
    feed_url: /^https?:\/\/\S+$/.test(url.trim()) ? null : "The address is not one of an agent. Write it like http://192.168.1.20:5000, or leave all three empty.",
    feed_item: named(data_item, "The data item", 120), feed_meter: meter ? null : "No meter is chosen. Choose the one that it counts, or leave all three empty.",
  };
  return { errors, body: { feed: { kind: "mtconnect", url: url.trim(), data_item: data_item.trim(), meter } } };
}

/** @param {Member} one */
function readFluid(one) {
  const capacity = readNumber(one.capacity, { name: "The capacity", above: 0, max: 1e6 });
  const factor = readNumber(one.factor, { name: "The factor", optional: true, above: 0, max: 100 });
  const { band, errors: limits } = readBand(/** @type {any} */ (one));
  const care = readCare(one);
  const errors = { ...care.errors, kind: named(one.kind, "The kind", 30), name: named(one.name, "The name", 80), capacity: capacity.error, factor: factor.error, ...limits };
  return {
    errors,
    body: {
      id: one.id, kind: one.kind.trim(), name: one.name.trim(), capacity: capacity.value, unit: one.unit, ...(band ? { band } : {}),
      ...(factor.value === null ? {} : { factor: factor.value }), ...(one.quantity ? { quantity: one.quantity } : {}), ...care.body,
    },
  };
}

/** @param {string} name @param {Member[]} list @param {(one: Member, all: Member[]) => { errors: Errors, body: any }} read */
function readAll(name, list, read) {
  const all = list.map((one) => ({ id: one.id, ...read(one, list) }));
  return { bodies: all.map(({ body }) => body), errors: Object.assign({}, ...all.map(({ id, errors }) => memberErrors(name, id, errors))) };
}

/** @param {ReturnType<typeof machineValues>} values @returns {{ errors: Errors, body: Record<string, any> }} */
export function readMachine(values) {
  const meters = readAll("meters", values.meters, readMeter);
  const parts = readAll("parts", values.parts, readPart);
  const fluids = readAll("fluids", values.fluids, readFluid);
  const feed = readFeed(values.feed);
  const cabinet = readCabinet(values.cabinet);
  const long = (/** @type {string} */ value, /** @type {string} */ label) => (value.trim().length > 80 ? `${label} is ${value.trim().length} letters long. Keep it to 80.` : null);
  const plate = /** @type {const} */ (["maker", "model", "serial", "notes"]).filter((key) => values[key].trim());
  return {
    errors: {
      name: named(values.name, "The machine's name", 80), maker: long(values.maker, "Maker"), model: long(values.model, "Model"), serial: long(values.serial, "Serial number"),
      ...meters.errors, ...parts.errors, ...fluids.errors, ...feed.errors, ...cabinet.errors,
    },
    body: {
      name: values.name.trim(), family: values.family, bay: values.bay || null, cautions: values.cautions,
      ...Object.fromEntries(plate.map((key) => [key, values[key].trim()])), meters: meters.bodies, parts: parts.bodies, fluids: fluids.bodies, ...feed.body, ...cabinet.body,
    },
  };
}
