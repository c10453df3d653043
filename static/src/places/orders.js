// Spares on order: how many are still to come, and whether the drawer with them is at its reorder point.
import { figure } from "../kit/numbers.js";

/** @typedef {{ count: number, expected: string | null }} Order */

/**
 * What is on order of an item, and the day on which the next of it is expected; null when nothing is.
 * @param {import("../core/fold.js").Doc} shop the shop's document @param {string} item @returns {Order | null}
 */
export function orderedOf(shop, item) {
  const orders = shop.orders?.[item] ?? [];
  if (!orders.length) return null;
  const days = orders.map(({ expected }) => expected).filter(Boolean).sort();
  return { count: orders.reduce((sum, one) => sum + one.count, 0), expected: days[0] ?? null };
}

/**
 * Whether it is time to order: pieces in the drawer and on the way are no more than the owner's reorder point. As
 * `position` in webapp/core/stock.py: by the drawer alone each day of waiting would say to order once more.
 * @param {import("../core/fold.js").Doc} shop @param {{ id: string, [key: string]: any }} item @param {number} count
 */
export function timeToOrder(shop, item, count) {
  return count + (orderedOf(shop, item.id)?.count ?? 0) <= item.reorder_at;
}

/** Units that are words and have a plural; what is measured (gal, L, lb) has none. */
const PLURALS = /^(piece|pair|set|bag|roll|pail|box|can|bottle|tube|sheet|pack|drum|jug)$/;

/** "3 pieces", "1 pair", "2.5 gal". @param {number} count @param {string} unit */
export function sayPieces(count, unit) {
  const many = count !== 1 && PLURALS.test(unit) ? `${unit}${unit.endsWith("x") ? "es" : "s"}` : unit;
  return `${figure(count)} ${many}`;
}
