// Which reminders still stand for a person, by what this phone itself knows: what is done here is over at once, and
// the server's older word does not bring it back.
import { timeToOrder } from "../orders.js";
import { judgeReading } from "../readings.js";
import { inUse, quantityOf } from "../standing.js";
import { shopDate } from "../../core/dates.js";

/**
 * @typedef {import("../../store/types.js").Reminder} Reminder
 * @typedef {import("../standing.js").Standing} Standing
 * @typedef {import("../standing.js").World} World
 * @typedef {{ where: string, rows: Reminder[] }} Bundle
 * @typedef {{ told: Bundle[], quiet: Bundle[], resting: (Reminder & { until: string })[], count: number, minutes: number }} ForPerson
 */

const TEST_STANDS_MS = 3_600_000;
/** From the most pressing on. */
const ORDER = ["late", "round", "coolant", "due", "tag", "stock", "paper", "phone", "test", "moved", "near"];
const PRESSING = ["resting", "near", "due", "late"];

/** The words of a link: "#/task/m/t" is ["task", "m", "t"]. @param {string} link */
const wordsOf = (link) => link.replace(/^#\//, "").split("?")[0].split("/");

/** The newest of some moments, in ms. @param {(string | null | undefined)[]} moments */
const newest = (moments) => Math.max(0, ...moments.flatMap((at) => (at ? [Date.parse(at)] : [])));

/** A task's own: over when it was done or put off since, or presses less than what was told. @param {Reminder} told @param {Standing} at */
function taskStands(told, { tasks, doc }) {
  const id = wordsOf(told.link)[2];
  const judged = tasks.find(({ task }) => task.id === id || task.checklist === id);
  if (!judged) return false;
  const { task, due } = judged;
  const own = doc.tasks[task.id];
  const since = newest([own?.at, own?.deferred?.at, task.checklist ? doc.rounds[task.checklist]?.at : null]);
  if (since > Date.parse(told.opened_at)) return false;
  const pressed = told.kind === "round" ? "near" : told.kind;
  return PRESSING.indexOf(due.state) >= PRESSING.indexOf(pressed);
}

/** A coolant: over when it was filled since, or read within its band. @param {Reminder} told @param {Standing} at */
function coolantStands(told, { machine, doc }) {
  const fluid = (machine?.fluids ?? []).find((/** @type {any} */ one) => one.id === wordsOf(told.link)[2]);
  if (!fluid) return false;
  const turn = doc.fluids[fluid.id];
  const opened = Date.parse(told.opened_at);
  if (newest([turn?.added_at, turn?.changed_at]) > opened) return false;
  const last = doc.readings[quantityOf(fluid)]?.[0];
  return !(last && fluid.band && Date.parse(last.at) > opened && judgeReading(fluid.band, last.value).inside);
}

/** An item: over when it was ordered or counted since, and lies with what is on order above its reorder point. @param {Reminder} told @param {World} world */
function stockStands(told, { definitions, state }) {
  const item = definitions.byId.get(new URLSearchParams(told.link.split("?")[1] ?? "").get("item") ?? "");
  if (!item || item.retired) return false;
  const drawer = state.shop.stock[item.id];
  const moved = [drawer?.at, ...(state.shop.orders?.[item.id] ?? []).map(({ at }) => at)].some((at) => at && Date.parse(at) > Date.parse(told.opened_at));
  return !(moved && drawer && !timeToOrder(state.shop, item, drawer.count));
}

/**
 * Whether a reminder still stands.
 * @param {Reminder} told @param {World} world @param {Standing[]} all every machine's standing
 */
export function stands(told, world, all) {
  const { now, definitions } = world;
  const zone = definitions.shop?.time_zone ?? "UTC";
  if (told.kind === "test") return now.getTime() - Date.parse(told.opened_at) < TEST_STANDS_MS;
  if (told.kind === "stock") return stockStands(told, world);
  const at = all.find(({ machine }) => (machine?.id ?? null) === told.machine);
  // A round not begun is news of its day only.
  if (told.kind === "round" && shopDate(Date.parse(told.opened_at), zone) !== shopDate(now.getTime(), zone)) return false;
  if (["near", "due", "late", "round"].includes(told.kind)) return Boolean(at) && taskStands(told, /** @type {Standing} */ (at));
  if (told.kind === "coolant") return Boolean(at) && coolantStands(told, /** @type {Standing} */ (at));
  if (told.kind === "tag") return Boolean(at?.doc.tags[wordsOf(told.link)[2]]);
  return !told.machine || inUse(definitions.machines).some(({ id }) => id === told.machine);
}

/**
 * Until when a reminder rests: as said on this phone, else as the server has it; null when it does not.
 * @param {Reminder} told @param {import("../../store/nudges.js").Snooze[]} snoozes @param {Date} now
 */
export function restsUntil({ id, snoozed_until }, snoozes, now) {
  const own = snoozes.find((one) => one.id === id);
  const until = own ? own.until : snoozed_until;
  return until && Date.parse(until) > now.getTime() ? until : null;
}

/** In the order of the day, what stands at one place together. @param {Reminder[]} rows @returns {Bundle[]} */
function bundled(rows) {
  const sorted = [...rows].sort((a, b) => ORDER.indexOf(a.kind) - ORDER.indexOf(b.kind) || (a.opened_at < b.opened_at ? -1 : 1));
  /** @type {Map<string, Reminder[]>} */
  const found = new Map();
  for (const row of sorted) found.set(row.where, [...(found.get(row.where) ?? []), row]);
  return [...found].map(([where, all]) => ({ where, rows: all }));
}

/**
 * What a person is to be told now.
 * @param {Reminder[]} reminders of everybody @param {string} person
 * @param {{ world: World, all: Standing[], snoozes: import("../../store/nudges.js").Snooze[] }} known
 * @returns {ForPerson}
 */
export function forPerson(reminders, person, { world, all, snoozes }) {
  const own = reminders.filter((one) => one.person === person && stands(one, world, all));
  const rests = own.flatMap((one) => {
    const until = restsUntil(one, snoozes, world.now);
    return until ? [{ ...one, until }] : [];
  });
  const awake = own.filter((one) => !rests.some(({ id }) => id === one.id));
  const plain = awake.filter(({ weight }) => weight === "plain");
  return {
    told: bundled(plain), quiet: bundled(awake.filter(({ weight }) => weight !== "plain")), resting: rests,
    count: plain.length, minutes: plain.reduce((sum, { minutes }) => sum + (minutes ?? 0), 0),
  };
}
