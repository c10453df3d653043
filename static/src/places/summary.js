// One line for an entry, in the shop's words; the server says the same for older ones.
import { capital } from "../kit/dates.js";
import { figure } from "../kit/numbers.js";
import { sayDate } from "../core/dates.js";
import { UNKNOWN, metalOf, nameOf, unitOf } from "./names.js";

/** @typedef {(body: any) => string} Say */

const ENDS = /** @type {Record<string, string>} */ ({ fit: "fit to start", "not fit": "not fit to start", done: "done" });

/** @type {Say} */
function sayRound(body) {
  const [bad, passed] = ["not ok", "n/a"].map((answer) => body.checks.filter((/** @type {any} */ check) => check.answer === answer).length);
  const found = bad ? `${bad} not ok` : passed ? `${passed} not applicable` : "all ok";
  return `${nameOf(body.checklist)}: ${ENDS[body.outcome] ?? body.outcome}, ${body.checks.length} checks, ${found}${body.typed_in ? ", typed in from paper" : ""}`;
}

/** What was counted on to a meter, in its unit. @param {string} meter @param {number} amount */
const sayCounted = (meter, amount) => `${nameOf(meter)} +${figure(amount)} ${unitOf(meter)}`.trim();

/** @type {Say} */
function sayBatch(body) {
  const adds = Object.entries(body.adds).map(([meter, amount]) => sayCounted(meter, /** @type {number} */ (amount)));
  return `${body.what || metalOf(body.alloy || "Batch")}: ${adds.join(", ")}`;
}

/** What a task is called: a defined one, or one that was raised. @param {string} id */
function taskName(id) {
  const name = nameOf(id);
  return name === UNKNOWN ? "a raised task" : name;
}

/** @type {Say} */
function sayHazard(body) {
  const marks = [body.near_miss && "near miss", body.first_aid && "first aid"].filter(Boolean).join(", ");
  const work = [body.process.replaceAll("_", " "), body.alloy && metalOf(body.alloy)].filter(Boolean).join(" ");
  return `Hazard${marks ? ` (${marks})` : ""}, ${work}: ${body.text || (body.seen ?? []).join(", ")}`;
}

/** @type {Say} */
function sayMeasured(body) {
  const [first, ...more] = body.samples;
  const what = [body.agent.replaceAll("_", " "), body.form].filter(Boolean).join(" ");
  const rest = more.length ? ` and ${more.length} more sample${more.length === 1 ? "" : "s"}` : "";
  return `Measured, ${what}, ${body.person ? nameOf(body.person) : body.place}: ${first.below_detection ? "below " : ""}${figure(first.value, 4)} ${first.unit} over ${figure(first.minutes, 0)} min${rest}`;
}

/** @type {Record<string, Say>} */
const SAYS = {
  "round.done": sayRound,
  "reading.taken": (b) => `${capital(b.quantity.replace(/[._]/g, " "))} ${figure(b.value)} ${b.unit}`.trim(),
  "meter.read": (b) => `${`${nameOf(b.meter)} read ${figure(b.value)} ${unitOf(b.meter)}`.trim()}${b.replaced ? " (new counter)" : ""}`,
  "meter.added": (b) => sayCounted(b.meter, b.amount),
  "batch.run": sayBatch,
  "part.changed": (b) => `${nameOf(b.part)} changed: ${b.reason}`,
  "fluid.added": (b) => `${nameOf(b.fluid)}: ${figure(b.amount)} ${b.unit} added`,
  "fluid.changed": (b) => `${nameOf(b.fluid)}: charge changed${b.amount ? `, ${figure(b.amount)} ${b.unit ?? ""}`.trimEnd() : ""}${b.strength == null ? "" : `, at ${figure(b.strength)} %`}`,
  "task.done": (b) => `Done, ${taskName(b.task)}${b.note ? `: ${b.note}` : ""}`,
  "task.deferred": (b) => `Put off to ${sayDate(b.to)}, ${taskName(b.task)}: ${b.why}`,
  "task.raised": (b) => `To do: ${b.title}`,
  "finding.opened": (b) => `Found${b.stop ? " (stop)" : ""}: ${b.text}`,
  "finding.closed": (b) => `Put right: ${b.done}`,
  "tag.on": (b) => `Tagged, do not operate: ${b.why}`,
  "tag.off": (b) => `Tag taken off: ${b.done}`,
  "stock.counted": (b) => `${nameOf(b.item)}: ${figure(b.count)} in the drawer${b.arrived ? `, ${figure(b.arrived)} delivered` : ""}`,
  "stock.ordered": (b) => `${nameOf(b.item)}: ${figure(b.count)} ordered${b.expected ? `, expected ${sayDate(b.expected)}` : ""}`,
  "note.made": (b) => b.text,
  "hazard.noted": sayHazard,
  "hazard.closed": (b) => `Hazard settled: ${b.done}`,
  "exposure.measured": sayMeasured,
  "air.checked": (b) => `${capital(b.check)}${b.place ? ` at ${b.place}` : ""} ${figure(b.value, 3)} ${b.unit}${b.commissioning ? ", commissioning" : ""}`,
  "purge.run": (b) => (b.seconds < b.needed ? `Purged ${figure(b.seconds, 0)} s of ${figure(b.needed, 0)} s, cut short` : `Purged ${figure(b.seconds, 0)} s, ${figure(b.needed, 0)} s were needed`),
  "chips.collected": (b) => `${metalOf(b.alloy)} ${b.dust ? "dust" : "chips"}: ${figure(b.weight)} ${b.unit} to ${b.to}, ${b.container}`,
  "ppe.checked": (b) => `${nameOf(b.person)}, ${b.what || `${b.kind} protection`} ${b.result}${b.hours ? ` after ${figure(b.hours)} h` : ""}${b.note ? `: ${b.note}` : ""}`,
  "fit.tested": (b) => `Fit test, ${nameOf(b.person)}, ${b.respirator}: ${b.result === "pass" ? `passed, until ${b.expires}` : "failed"}`,
  "training.signed": (b) => `${nameOf(b.person)} signed off: ${[b.machine && nameOf(b.machine), b.topic].filter(Boolean).join(", ")}${b.expires ? `, until ${b.expires}` : ""}`,
  "entry.amended": (b) => `Amended: ${b.why}`,
  "entry.voided": (b) => `Voided: ${b.why}`,
  "definition.revised": (b) => `Set-up: ${b.type} ${nameOf(b.id)}, revision ${b.revision}`,
};

/** What the kinds are called in filters and headings. @type {Record<string, string>} */
export const KIND_NAMES = {
  "round.done": "Rounds", "finding.opened": "Findings", "finding.closed": "Findings put right", "tag.on": "Tags on", "tag.off": "Tags off",
  "task.done": "Tasks done", "task.deferred": "Tasks put off", "task.raised": "Tasks raised", "part.changed": "Parts changed",
  "fluid.added": "Fluids added", "fluid.changed": "Charges changed", "batch.run": "Batches", "meter.read": "Meters read",
  "meter.added": "Meters counted on", "reading.taken": "Readings", "stock.counted": "Drawer counts", "stock.ordered": "Spares ordered", "note.made": "Notes",
  "hazard.noted": "Hazards", "hazard.closed": "Hazards settled", "exposure.measured": "Exposures measured", "air.checked": "Checks of the air",
  "purge.run": "Purges", "chips.collected": "Chips and dust", "ppe.checked": "Protective equipment", "fit.tested": "Fit tests", "training.signed": "Sign-offs",
  "entry.amended": "Amendments", "entry.voided": "Voidings", "definition.revised": "Set-up",
};

/** @param {{ kind: string, body: any, summary?: string, amended?: any }} entry */
export function summaryOf(entry) {
  if (entry.summary) return entry.summary;
  try {
    return SAYS[entry.kind]?.(entry.amended ?? entry.body) ?? entry.kind;
  } catch {
    return entry.kind; // a body that a newer app wrote differently is still listed
  }
}
