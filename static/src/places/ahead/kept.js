// The document of what is ahead as this phone keeps it, and how old it is.
import { html } from "htm/preact";
import { computed } from "@preact/signals";
import { Notice, dayIn } from "../../kit/index.js";
import { head, state, unsent, upkeep } from "../../store/index.js";
import { calendar, world } from "../world.js";
import { arcOf } from "./bars.js";
import { foretell, sayAge, sayBy } from "./words.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** What is kept, or null before the first. @type {import("@preact/signals").ReadonlySignal<any>} */
export const kept = computed(() => upkeep.value);

/** When a task was last done or put off, by this phone's own state. @param {Definition} task */
function sinceOf(task) {
  const doc = task.machine ? state.value.machines[task.machine] : state.value.shop;
  const own = doc?.tasks[task.id];
  const round = task.checklist ? doc?.rounds[task.checklist]?.at : null;
  return { at: [own?.at, round].filter(Boolean).sort().at(-1) ?? null, deferred: own?.deferred ?? null };
}

/** The server's answer for a task. @param {Definition} task @returns {import("./words.js").Ahead | undefined} */
const aheadOf = (task) => (task.machine ? kept.value?.machines[task.machine]?.tasks : kept.value?.shop.tasks)?.[task.id];

/** What is foreseen of a task, in words and dates. @param {Definition} task */
export function toldOf(task) {
  const asOf = kept.value?.as_of ?? "";
  return foretell(aheadOf(task), calendar.value.today, { asOf, since: sinceOf(task) });
}

/** What a date rests on, in a few words. @param {Definition} task */
export function basisOf(task) {
  const { dates } = toldOf(task);
  const ahead = aheadOf(task);
  return ahead && dates ? sayBy(ahead, dates) : "";
}

/** The dial's thin arc, where its scale is the meter that was foreseen. @param {Definition} task @param {import("../../core/due.js").Due} due */
export function arcFor(task, { every, unit, state: now }) {
  const ahead = aheadOf(task);
  if (!ahead || now === "due" || now === "late" || ahead.every !== every || ahead.unit !== unit || !toldOf(task).dates) return null;
  return arcOf(ahead, dayIn(new Date(kept.value.as_of), calendar.value.zone));
}

/** Whether a task was done after all of this was worked out. @param {string} id @param {Map<string, Definition>} byId */
export function doneSince(id, byId) {
  const task = byId.get(id);
  const at = task ? sinceOf(task).at : null;
  return Boolean(at) && Date.parse(String(at)) > Date.parse(kept.value?.as_of ?? "");
}

/** How old it is; said plainly when this phone knows more, or when there is none yet. @param {{ what?: string }} props */
export function Age({ what = "Dates to come" }) {
  const { zone } = calendar.value;
  if (!kept.value) {
    return html`<${Notice} title=${`${what}: none on this phone yet.`}>The shop's server works them out from the record; this phone
      fetches them when it has signal, and keeps them for when it has none.<//>`;
  }
  const { said, older } = sayAge(kept.value, { head: head.value, unsent: unsent.value, zone, now: world.value.now });
  return html`<p class=${older ? "age age-older" : "age soft"}>${said}${older && " This phone has entries that came after it; they count once it has been worked out again, with signal."}</p>`;
}
