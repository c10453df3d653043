// Two edits of one definition: where they differ, which side each difference came from, and both put together.

/**
 * @typedef {"mine" | "theirs"} Side
 * @typedef {object} Difference
 * @property {string} key the path as one text
 * @property {string[]} path a field; or a list, a member's id and a field of it; or a list and "order"
 * @property {any} mine undefined when it is not there
 * @property {any} theirs
 * @property {Side | null} pick the side that changed it, null when both did
 * @property {any} owner the list's member it belongs to, else undefined
 */

const OWN = new Set(["id", "revision", "retired", "dates", "type", "position"]);

/** What people wrote of a definition, without what the server adds. @param {Record<string, any>} definition */
export const bodyOf = (definition) => Object.fromEntries(Object.entries(definition).filter(([key]) => !OWN.has(key)));

/** @param {any} value @returns {any} with sorted keys, and without what is empty */
function plain(value) {
  if (Array.isArray(value)) return value.map(plain);
  if (value === null || typeof value !== "object") return value ?? null;
  const kept = Object.entries(value).filter(([, one]) => one !== null && one !== undefined);
  return Object.fromEntries(kept.sort(([a], [b]) => (a < b ? -1 : 1)).map(([key, one]) => [key, plain(one)]));
}

/** Nothing, null and what is missing are the same. @param {any} a @param {any} b */
export const same = (a, b) => JSON.stringify(plain(a ?? null)) === JSON.stringify(plain(b ?? null));

/** A list whose members have ids. @param {any} value */
const isKeyed = (value) => Array.isArray(value) && value.length > 0 && value.every((one) => one && typeof one === "object" && "id" in one);

/** @param {any} list @returns {string[]} */
const ids = (list) => (list ?? []).map((/** @type {any} */ one) => one.id);

/** @param {any} base @param {any} mine @param {any} theirs @returns {Side | null} */
function sideOf(base, mine, theirs) {
  if (same(base, theirs)) return "mine";
  return same(base, mine) ? "theirs" : null;
}

/** @param {string[]} path @param {any} base @param {any} mine @param {any} theirs @param {any} [owner] @returns {Difference[]} */
function compare(path, base, mine, theirs, owner) {
  if (same(mine, theirs)) return [];
  return [{ key: path.join("/"), path, mine, theirs, pick: sideOf(base, mine, theirs), owner }];
}

/**
 * Where two bodies differ. Lists whose members have ids are compared member by member, and those field by field.
 * @param {Record<string, any>} base what both were made from
 * @param {Record<string, any>} mine
 * @param {Record<string, any>} theirs
 * @returns {Difference[]}
 */
export function differences(base, mine, theirs) {
  const names = [...new Set([...Object.keys(mine), ...Object.keys(theirs)])];
  return names.flatMap((name) => {
    const sides = [base[name], mine[name], theirs[name]];
    if (sides.some(isKeyed) && sides.every((one) => !one?.length || isKeyed(one))) return inList(name, base[name] ?? [], mine[name] ?? [], theirs[name] ?? []);
    return compare([name], base[name], mine[name], theirs[name]);
  });
}

/** @param {string} name @param {any[]} base @param {any[]} mine @param {any[]} theirs @returns {Difference[]} */
function inList(name, base, mine, theirs) {
  const all = [...new Set([...ids(theirs), ...ids(mine)])];
  const found = all.flatMap((id) => {
    const [was, one, other] = [base, mine, theirs].map((list) => list.find((member) => member.id === id));
    if (!one || !other) return compare([name, id], was, one, other, one ?? other);
    const fields = [...new Set([...Object.keys(one), ...Object.keys(other)])];
    return fields.flatMap((field) => compare([name, id, field], was?.[field], one[field], other[field], other));
  });
  const shared = new Set(ids(mine).filter((id) => ids(theirs).includes(id)));
  const order = (/** @type {any[]} */ list) => ids(list).filter((id) => shared.has(id));
  return [...found, ...compare([name, "order"], order(base), order(mine), order(theirs))];
}

/**
 * Theirs, with mine wherever mine was picked.
 * @param {Record<string, any>} mine @param {Record<string, any>} theirs @param {Difference[]} found @param {Record<string, Side>} picks by key
 * @returns {Record<string, any>}
 */
export function merge(mine, theirs, found, picks) {
  const merged = structuredClone(theirs);
  const lists = new Set(found.filter(({ path }) => path.length > 1).map(({ path }) => path[0]));
  for (const difference of found.filter(({ key }) => picks[key] === "mine")) put(merged, difference);
  for (const name of lists) {
    const order = picks[`${name}/order`] === "mine" ? ids(mine[name]) : ids(theirs[name]);
    merged[name] = ordered(merged[name] ?? [], order, ids(mine[name]));
  }
  return merged;
}

/** @param {Record<string, any>} merged @param {Difference} difference */
function put(merged, { path: [name, id, field], mine }) {
  if (id === "order") return;
  if (id === undefined) {
    if (mine === undefined) delete merged[name];
    else merged[name] = structuredClone(mine);
    return;
  }
  const list = (merged[name] ??= []);
  const at = list.findIndex((/** @type {any} */ one) => one.id === id);
  if (field !== undefined && at >= 0) list[at][field] = structuredClone(mine);
  else if (mine === undefined) list.splice(at, 1);
  else if (at < 0) list.push(structuredClone(mine));
}

/** Members by an order; who is not in it comes after the one before it in the other order. @param {any[]} list @param {string[]} order @param {string[]} other */
function ordered(list, order, other) {
  const there = new Set(ids(list));
  const sorted = order.filter((id) => there.has(id));
  for (const [index, id] of other.entries()) {
    if (!there.has(id) || sorted.includes(id)) continue;
    const before = other.slice(0, index).reverse().find((one) => sorted.includes(one));
    sorted.splice(before === undefined ? 0 : sorted.indexOf(before) + 1, 0, id);
  }
  return sorted.map((id) => list.find((one) => one.id === id));
}
