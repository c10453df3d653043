// Names of people and things by their ids.
import { definitions } from "../store/index.js";

/** Said of an id that names nothing defined. */
export const UNKNOWN = "something no longer known";

/** Initials of a person, or what the record says. @param {string | null | undefined} id */
export function initialsOf(id) {
  const person = id ? definitions.value.byId.get(id) : null;
  return person ? String(person.initials ?? person.name) : "somebody";
}

/** The name of anything defined. @param {string | null | undefined} id */
export function nameOf(id) {
  const found = id ? definitions.value.byId.get(id) ?? inside(id) : null;
  return found ? String(found.name) : UNKNOWN;
}

/** An alloy as an entry has it: one of the shop's own by its name, any other as it stands. @param {string} alloy */
export const metalOf = (alloy) => String(definitions.value.byId.get(alloy)?.name ?? alloy);

/** The unit that a meter counts in; "" of anything else. @param {string} id */
export const unitOf = (id) => String(inside(id)?.unit ?? "");

/** Meters, parts and fluids are defined inside their machine. @param {string} id */
function inside(id) {
  for (const machine of definitions.value.machines) {
    for (const list of [machine.meters, machine.parts, machine.fluids]) {
      const found = list?.find((/** @type {{ id: string }} */ one) => one.id === id);
      if (found) return found;
    }
  }
  for (const list of definitions.value.checklists) {
    const found = list.checks.find((/** @type {{ id: string }} */ one) => one.id === id);
    if (found) return { name: found.text };
  }
  return null;
}
