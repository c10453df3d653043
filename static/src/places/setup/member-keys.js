// Members of a list inside a definition, and where what is wrong with them stands in the form.

/** @typedef {{ id: string, [field: string]: any }} Member  its fields as they are typed */

/** The key of a member's error in the form. @param {string} name of the list @param {string} id @param {string} field */
export const errorKey = (name, id, field) => `${name}/${id}/${field}`;

/** Errors of one member as errors of the form. @param {string} name @param {string} id @param {Record<string, string | null>} errors @returns {Record<string, string | null>} */
export const memberErrors = (name, id, errors) => Object.fromEntries(Object.entries(errors).map(([field, error]) => [errorKey(name, id, field), error]));

/**
 * Where the server's faults about members belong: its path -> [the form's error, its label].
 * @param {string} name @param {Member[]} list @param {Record<string, [string, string]>} labels the path below the member -> [field, label]
 * @returns {Record<string, [string, string]>}
 */
export function memberFields(name, list, labels) {
  return Object.fromEntries(list.flatMap(({ id }, index) => Object.entries(labels).map(
    ([path, [field, label]]) => [`${name}.${index}.${path}`, /** @type {[string, string]} */ ([errorKey(name, id, field), label])])));
}

/** A list with one member moved; the same list when there is nowhere to go. @template T @param {T[]} list @param {number} from @param {number} to @returns {T[]} */
export function moved(list, from, to) {
  if (to < 0 || to >= list.length) return list;
  const next = [...list];
  next.splice(to, 0, ...next.splice(from, 1));
  return next;
}
