// The one thing to know of a wearing part from the list of its machine.
import { kept } from "../ahead/kept.js";

/** What the server knows of a part, or null. @param {string} machine @param {string} part */
export const partOf = (machine, part) => kept.value?.machines[machine]?.parts[part] ?? null;

/** @param {string} machine @param {string} part */
export function partHint(machine, part) {
  const found = partOf(machine, part);
  if (!found) return "";
  const said = [];
  if (found.break_in.some((/** @type {any} */ one) => one.state !== "over")) said.push("breaking in");
  if (found.replacement?.to_go !== null && found.replacement?.to_go <= 0) said.push("past its cheapest age");
  if (found.stock?.order_now) said.push("time to order");
  return said.join(", ");
}
