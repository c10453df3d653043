// How long a reminder may be let rest: a few moments that make sense in the shop, on the shop's wall.
import { shopDate } from "../../core/dates.js";
import { firstBegins, hoursOf, instantAt, mondayAfter, nextWorkingDay, worksOn } from "../../core/hours.js";
import { daysFrom, longDay, timeIn } from "../../kit/dates.js";

/** @typedef {{ text: string, when: string, until: string }} Later `when` in words, `until` RFC 3339 */

const HOUR_MS = 3_600_000;
const AFTERNOON = "13:00";
/** The server lets nothing rest for longer. */
const LONGEST_MS = 30 * 24 * HOUR_MS;

/** The next full five minutes. @param {number} ms */
const rounded = (ms) => Math.ceil(ms / 300_000) * 300_000;

/**
 * What "later" can mean now, the soonest first.
 * @param {number} now ms @param {any} shop its definition, or null
 * @returns {Later[]}
 */
export function laterChoices(now, shop) {
  const hours = hoursOf(shop);
  const { zone } = hours;
  const today = shopDate(now, zone);
  const afternoon = instantAt(today, AFTERNOON, zone);
  const next = nextWorkingDay(hours, today);
  const monday = mondayAfter(today);
  const week = worksOn(hours, monday) ? monday : nextWorkingDay(hours, monday);
  const begins = (/** @type {string} */ day) => instantAt(day, firstBegins(hours), zone);
  const soon = afternoon - now >= HOUR_MS ? { text: "This afternoon", ms: afternoon } : { text: "In 3 hours", ms: rounded(now + 3 * HOUR_MS) };
  const morning = { text: daysFrom(today, next) === 1 ? "Tomorrow morning" : "Next working day", ms: begins(next) };
  const found = [...(soon.ms < morning.ms ? [soon] : []), ...(next < week ? [morning] : []), { text: "Next week", ms: begins(week) }];
  return found.filter(({ ms }) => ms - now <= LONGEST_MS).map(({ text, ms }) => ({ text, when: sayMoment(ms, today, zone), until: new Date(ms).toISOString() }));
}

/** "13:00", "Mon 30 Nov 06:00". @param {number} ms @param {string} today @param {string} zone */
function sayMoment(ms, today, zone) {
  const day = shopDate(ms, zone);
  const time = timeIn(new Date(ms), zone);
  return day === today ? time : `${longDay(day)} ${time}`;
}
