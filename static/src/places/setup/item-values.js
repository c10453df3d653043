// An item of the drawer as the values of a form, and those values as a definition or errors that say the mend.
import { readNumber } from "../../kit/numbers.js";
import { named } from "./naming.js";

/** @typedef {Record<string, string | null>} Errors */

/** @param {any} value */
const text = (value) => (value === null || value === undefined ? "" : String(value));

/** @param {any} item a definition, or nothing for a new one @param {string} [machine] */
export const itemValues = (item, machine = "") => ({
  name: text(item?.name), kind: text(item?.kind), unit: text(item?.unit ?? "piece"), reorder: text(item?.reorder_at ?? 1), lead: text(item?.lead_days), cost: text(item?.cost),
  machine: text(item ? item.machine : machine),
});

/** @param {Record<string, string>} values a draft of an older app has no days and no price @returns {{ errors: Errors, body: Record<string, any> }} */
export function readItem({ name, kind, unit, reorder, machine, lead = "", cost = "" }) {
  const at = readNumber(reorder, { name: "Order at", min: 0, max: 1e6 });
  const days = readNumber(lead, { name: "Days to come", optional: true, above: 0, max: 3650 });
  const price = readNumber(cost, { name: "The price", optional: true, above: 0, max: 1e7 });
  return {
    errors: { name: named(name, "The name", 120), kind: named(kind, "The kind", 30), unit: named(unit, "Counted in", 20), reorder: at.error, lead: days.error, cost: price.error },
    body: {
      name: name.trim(), kind: kind.trim(), unit: unit.trim(), reorder_at: at.value, machine: machine || null,
      ...(days.value === null ? {} : { lead_days: days.value }), ...(price.value === null ? {} : { cost: price.value }),
    },
  };
}
