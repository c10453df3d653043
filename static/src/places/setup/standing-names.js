// Names for machines that are about to stand.

/** The choice that stands for a bay not made yet. */
export const NEW_BAY = "new";

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
