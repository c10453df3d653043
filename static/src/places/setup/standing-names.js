// Names for machines that are about to stand.

/** The choice that stands for a bay not made yet. */
export const NEW_BAY = "new";

const NAMED = "new ";

/** @typedef {{ bay: string, newBay: string }} Placed */

/** The name of a bay that is to be made, null when it is there already or there is none. @param {Placed} wish */
export function newBayName({ bay, newBay }) {
  if (bay === NEW_BAY) return newBay.trim();
  return bay.startsWith(NAMED) ? bay.slice(NAMED.length) : null;
}

/** New bays that other machines name, to be chosen for this one too. @param {Placed[]} wishes @returns {{ value: string, text: string }[]} */
export function newBays(wishes) {
  const names = wishes.map((wish) => newBayName(wish) ?? "").filter(Boolean);
  return [...new Map(names.map((name) => [sameBay(name), name])).values()].map((name) => ({ value: NAMED + name, text: name }));
}

/** Two names of one bay. @param {string} name */
export const sameBay = (name) => name.trim().toLowerCase();

/** A name not taken yet: "Band saw", then "Band saw 2". @param {string} name @param {string[]} taken */
export function nextName(name, taken) {
  const known = new Set(taken.map((one) => one.trim().toLowerCase()));
  if (!known.has(name.toLowerCase())) return name;
  let number = 2;
  while (known.has(`${name} ${number}`.toLowerCase())) number += 1;
  return `${name} ${number}`;
}
