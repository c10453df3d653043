// How each machine stands now: what is due at it, whether it is fit to start, and how both are said.
import { dayOf, factsOf } from "../core/facts.js";
import { shopDate } from "../core/dates.js";
import { emptyDoc } from "../core/fold.js";
import { judge } from "../core/due.js";
import { judgeReading } from "./readings.js";
import { sayPieces, timeToOrder } from "./orders.js";
import { counted, figure, shortFigure } from "../kit/numbers.js";
import { rankOf } from "../kit/state.js";

/**
 * @typedef {import("../store/types.js").Definition} Definition
 * @typedef {import("../store/types.js").Definitions} Definitions
 * @typedef {import("../store/types.js").State} State
 * @typedef {import("../core/fold.js").Doc} Doc
 * @typedef {import("../core/due.js").Due} Due
 * @typedef {import("../kit/state.js").Mark} Mark
 * @typedef {{ task: Definition, due: Due }} Judged
 * @typedef {{ mark: Mark, text: string, href?: string }} Line
 * @typedef {object} Standing
 * @property {Definition | null} machine null for the shop itself
 * @property {Doc} doc
 * @property {Judged[]} tasks the most pressing first
 * @property {{ checklist: Definition, task: Definition | null, due: Due } | null} startUp
 * @property {boolean} fit today's start-up round was fit, no tag is on, no stop finding is open
 * @property {string} why in one sentence, why it is fit or not
 * @property {Mark} mark
 * @property {string} word
 * @property {Line[]} lines what wants doing, the most pressing first
 * @property {number} count how many of them are due or late
 */

/** @typedef {{ definitions: Definitions, state: State, now: Date }} World */

/** The shop's zone, or the phone's own before the shop is known. @param {Definitions} definitions @returns {string} */
export function zoneOf(definitions) {
  return definitions.shop?.time_zone ?? Intl.DateTimeFormat().resolvedOptions().timeZone;
}

/** The shop's date today. @param {World} world */
export const todayOf = ({ definitions, now }) => shopDate(now.getTime(), zoneOf(definitions));

/** A machine's document with its meters, or the shop's. @param {World} world @param {Definition | null} machine @returns {Doc} */
export function docOf({ state }, machine) {
  const doc = (machine ? state.machines[machine.id] : state.shop) ?? emptyDoc();
  const meters = Object.fromEntries(
    (machine?.meters ?? []).flatMap((/** @type {{ id: string }} */ { id }) => (state.meters[id] ? [[id, state.meters[id]]] : [])),
  );
  return { ...doc, meters: { ...doc.meters, ...meters } };
}

/** Things in use. @param {Definition[]} list */
export const inUse = (list) => list.filter((one) => !one.retired);

/** @param {World} world @param {Definition | null} machine @param {Doc} doc @returns {Judged[]} */
function judgeTasks({ definitions, now }, machine, doc) {
  const clock = { now: now.getTime(), zone: zoneOf(definitions) };
  const tasks = inUse(definitions.tasks).filter((task) => (task.machine ?? null) === (machine?.id ?? null));
  const judged = tasks.map((task) => ({
    task,
    due: judge(task.rule, factsOf(/** @type {any} */ (task), /** @type {any} */ (machine), doc, clock)),
  }));
  return judged.sort((a, b) => rankOf(a.due.state) - rankOf(b.due.state) || b.due.fraction - a.due.fraction);
}

/** Stop findings that are open. @param {Doc} doc */
const stops = (doc) => Object.values(doc.findings).filter((finding) => finding.stop);

/** @param {World} world @param {Definition | null} machine @param {Doc} doc @param {Judged[]} tasks @returns {Standing["startUp"]} */
function startUpOf(world, machine, doc, tasks) {
  const lists = inUse(world.definitions.checklists).filter((list) => list.machine === machine?.id && list.form === "start-up");
  const checklist = lists[0];
  if (!machine || !checklist) return null;
  const judged = tasks.find(({ task }) => task.checklist === checklist.id);
  const stand = { id: checklist.id, start: todayOf(world), checklist: checklist.id };
  const clock = { now: world.now.getTime(), zone: zoneOf(world.definitions) };
  const due = judged?.due ?? judge({ each: "start-up" }, factsOf(stand, /** @type {any} */ (machine), doc, clock));
  return { checklist, task: judged?.task ?? null, due: againWhenNotFit(world, due, doc, checklist) };
}

/** A round that ended "not fit" is walked again once nothing stops the machine any more. @param {World} world @param {Due} due @param {Doc} doc @param {Definition} checklist @returns {Due} */
function againWhenNotFit(world, due, doc, checklist) {
  const round = doc.rounds[checklist.id];
  const stopped = Object.keys(doc.tags).length > 0 || stops(doc).length > 0;
  if (due.state !== "resting" || stopped || !round || round.fit) return due;
  const today = todayOf(world);
  if (dayOf(round.at, zoneOf(world.definitions)) !== today) return due;
  return { ...due, state: "due", due_on: today, fraction: 1, why: "The last round ended not fit: walk it again." };
}

/**
 * Fit only when today's start-up round was fit, no tag is on and no stop finding is open.
 * @param {Doc} doc @param {Standing["startUp"]} startUp @returns {{ fit: boolean, why: string }}
 */
function fitness(doc, startUp) {
  const tag = Object.values(doc.tags)[0];
  if (tag) return { fit: false, why: `Tagged, do not operate: ${tag.why}` };
  const stop = stops(doc)[0];
  if (stop) return { fit: false, why: `Open stop finding: ${stop.text}` };
  if (!startUp) return { fit: false, why: "It has no start-up round, so nothing says that it is fit." };
  if (startUp.due.state !== "resting") return { fit: false, why: startUp.due.why };
  const round = doc.rounds[startUp.checklist.id];
  return round?.fit ? { fit: true, why: "Today's start-up round found it fit." } : { fit: false, why: "No start-up round was walked today." };
}

/** "late 1 day", "due today", "38 h left", "before first use". @param {Due} due */
export function sayDue(due) {
  const { left, unit, state } = due;
  if (left === null || unit === null) return state === "late" ? "used before it was done" : state === "due" ? "due" : "";
  if (unit === "days") return sayDaysLeft(left);
  return left > 0 ? `${figure(left, 1)} ${unit} left` : left === 0 ? "due now" : `${figure(-left, 1)} ${unit} over`;
}

/** @param {number} left */
function sayDaysLeft(left) {
  if (left === 0) return "due today";
  return left < 0 ? `late ${counted(-left, "day")}` : `in ${counted(left, "day")}`;
}

/** What comes next where nothing is due: "Next: Change the filter, in 12 days". @param {Standing} standing */
export function sayNext({ tasks }) {
  const dated = tasks.filter(({ due }) => sayDue(due) !== "").sort((a, b) => b.due.fraction - a.due.fraction)[0];
  return dated ? `Next: ${dated.task.name}, ${sayDue(dated.due)}` : "";
}

/** What the dial of a task shows, or null when nothing runs toward its due. @param {Judged} judged */
export function dialOf({ task, due }) {
  if (due.used === null || !due.every || !due.unit) return null;
  const unit = due.unit === "days" ? "d" : due.unit;
  return {
    fraction: due.fraction, top: shortFigure(due.used), bottom: `/${shortFigure(due.every)} ${unit}`,
    label: `${task.name}: ${figure(due.used)} of ${figure(due.every)} ${due.unit}, ${due.state}`,
  };
}

/** @param {Standing["startUp"]} startUp @param {string} machine @returns {Line[]} */
function startUpLine(startUp, machine) {
  if (!startUp || startUp.due.state === "resting") return [];
  const { checklist, task, due } = startUp;
  const minutes = task?.minutes ? ` · ${figure(task.minutes, 0)} min` : "";
  return [{
    mark: due.state, text: `${checklist.name}: ${counted(checklist.checks.length, "check")}${minutes}`,
    href: `#/round/${machine}/${checklist.id}`,
  }];
}

/** Fluids whose last strength is out of its band. @param {Definition | null} machine @param {Doc} doc @returns {Line[]} */
function fluidLines(machine, doc) {
  return (machine?.fluids ?? []).flatMap((/** @type {any} */ fluid) => {
    const last = fluid.band ? doc.readings[quantityOf(fluid)]?.[0] : null;
    if (!last) return [];
    const verdict = judgeReading(fluid.band, last.value);
    if (verdict.inside) return [];
    return [{
      mark: /** @type {Mark} */ ("due"), text: `${fluid.name} ${figure(last.value)} ${last.unit ?? ""}: ${verdict.word}`,
      href: `#/log/coolant?machine=${machine?.id}&fluid=${fluid.id}`,
    }];
  });
}

/** The quantity by which a fluid's strength is read. @param {{ kind: string, quantity?: string | null }} fluid */
export const quantityOf = (fluid) => fluid.quantity ?? `${fluid.kind}.strength`;

/** @param {Definition | null} machine @param {Doc} doc @returns {Line[]} */
function openLines(machine, doc) {
  const at = machine?.id ?? "shop";
  const tags = Object.entries(doc.tags).map(([id, tag]) => ({ mark: /** @type {Mark} */ ("tagged"), text: `Do not operate: ${tag.why}`, href: `#/tag/${at}/${id}` }));
  const findings = Object.entries(doc.findings).map(([id, finding]) => ({
    mark: /** @type {Mark} */ (finding.stop ? "stop" : "due"), text: `Found: ${finding.text}`, href: `#/finding/${at}/${id}`,
  }));
  const raised = Object.entries(doc.raised).map(([id, task]) => ({ mark: /** @type {Mark} */ ("due"), text: `To do: ${task.title}`, href: `#/task/${at}/${id}` }));
  return [...tags, ...findings, ...raised];
}

/** Drawers that are, with what is on order, at or below their reorder point. @param {World} world @param {string | null} machine @returns {Line[]} */
export function stockLines({ definitions, state }, machine) {
  return inUse(definitions.items).filter((item) => (item.machine ?? null) === machine).flatMap((item) => {
    const drawer = state.shop.stock[item.id];
    if (!drawer || !timeToOrder(state.shop, item, drawer.count)) return [];
    const left = `${sayPieces(drawer.count, item.unit)} left, reorder at ${figure(item.reorder_at)}`;
    return [{ mark: /** @type {Mark} */ ("due"), text: `${item.name}: ${left}`, href: `#/log/stock?item=${item.id}` }];
  });
}

/** @param {Judged[]} tasks @param {Standing["startUp"]} startUp @param {string} at @returns {Line[]} */
function taskLines(tasks, startUp, at) {
  return tasks
    .filter(({ task, due }) => due.state !== "resting" && task.id !== startUp?.task?.id)
    .map(({ task, due }) => ({
      mark: due.state, text: [task.name, sayDue(due)].filter(Boolean).join(": "),
      href: task.checklist ? `#/round/${at}/${task.checklist}` : `#/task/${at}/${task.id}`,
    }));
}

/**
 * How a machine (null: the shop itself) stands.
 * @param {World} world @param {Definition | null} machine @returns {Standing}
 */
export function standingOf(world, machine) {
  const doc = docOf(world, machine);
  const tasks = judgeTasks(world, machine, doc);
  const startUp = startUpOf(world, machine, doc, tasks);
  const at = machine?.id ?? "shop";
  const lines = [
    ...openLines(machine, doc), ...startUpLine(startUp, at), ...taskLines(tasks, startUp, at),
    ...fluidLines(machine, doc), ...stockLines(world, machine?.id ?? null),
  ].sort((a, b) => rankOf(a.mark) - rankOf(b.mark));
  const { fit, why } = fitness(doc, startUp);
  const count = lines.filter((line) => rankOf(line.mark) < rankOf("near")).length;
  return { machine, doc, tasks, startUp, fit, why, lines, count, ...overall(doc, lines, fit, startUp) };
}

/** @param {Doc} doc @param {Line[]} lines @param {boolean} fit @param {Standing["startUp"]} startUp @returns {{ mark: Mark, word: string }} */
function overall(doc, lines, fit, startUp) {
  if (Object.keys(doc.tags).length) return { mark: "tagged", word: "tagged out" };
  if (stops(doc).length) return { mark: "stop", word: "must not start" };
  const worst = lines[0]?.mark ?? "resting";
  if (worst === "late") return { mark: "late", word: "late" };
  if (startUp && startUp.due.state === "due") return { mark: "due", word: "round due" };
  if (worst !== "resting") return { mark: worst, word: fit ? `fit to start, ${worst}` : worst };
  return fit ? { mark: "fit", word: "fit to start" } : { mark: "resting", word: "resting" };
}

/** Every machine in use and the shop itself, in the order of the day. @param {World} world @returns {Standing[]} */
export function standings(world) {
  const machines = inUse(world.definitions.machines).map((machine) => standingOf(world, machine));
  const shop = standingOf(world, null);
  const all = shop.lines.length || shop.tasks.length ? [...machines, shop] : machines;
  const order = new Map(all.map((one, index) => [one, index]));
  return all.sort((a, b) => rankOf(a.mark) - rankOf(b.mark) || (order.get(a) ?? 0) - (order.get(b) ?? 0));
}
