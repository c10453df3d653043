// The start of a batch: alloy and work, and what they ask, before any figure is typed.
import { html } from "htm/preact";
import { TextField, TickField } from "../../kit/index.js";
import { cards } from "../../store/index.js";
import { BLANK, WorkFields, choiceOf } from "./chooser.js";
import { Demanded } from "./demands.js";
import { NoCards, offered, useRanBefore } from "./shared.js";
import { UNKNOWN, demandsOf, usualWork } from "./work.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** What the fields hold before anybody chose. @param {Definition} machine @param {URLSearchParams} query */
export const workBlank = (machine, query) => ({ ...BLANK, anyway: "", alloy: query.get("alloy") ?? "", process: query.get("process") ?? usualWork(machine)[0] ?? "" });

/** What the rules ask of the batch, and whether it may be kept. @param {Definition} machine @param {Record<string, string>} typed */
export function useWorkOfBatch(machine, typed) {
  const last = useRanBefore(machine.id, typed.alloy);
  const demands = demandsOf(cards.value, choiceOf(typed, last));
  const stopped = (demands?.stops.length ?? 0) > 0;
  const error = stopped && !typed.anyway ? "A stop stands. If it was run all the same, tick that it was: the record then says so." : null;
  return { last, demands, stopped, error };
}

/** What the batch's body says of it. @param {Record<string, string>} typed */
export const alloySaid = (typed) => (typed.alloy && typed.alloy !== UNKNOWN ? { alloy: typed.alloy } : {});

/**
 * A batch that was run although a stop stood leaves an open hazard beside it.
 * @param {Definition} machine @param {Record<string, string>} typed @param {ReturnType<typeof useWorkOfBatch>} work @returns {import("../../store/types.js").NewEntry[]}
 */
export function hazardOf(machine, typed, { demands, stopped }) {
  if (!stopped || !demands) return [];
  const text = `Run although a stop stood: ${demands.stops.map((stop) => stop.text).join(" ")}`;
  const medium = typed.process === "blast" && typed.medium ? { medium: typed.medium } : {};
  return [{ kind: "hazard.noted", machine: machine.id, body: { process: typed.process, ...alloySaid(typed), ...medium, text } }];
}

/** @param {{ machine: Definition, form: any, work: ReturnType<typeof useWorkOfBatch> }} props */
export function WorkOfBatch({ machine, form, work: { last, demands, stopped, error } }) {
  if (!cards.value) return html`<${NoCards} /><${TextField} label="Alloy" optional maxLength=${40} ...${form.field("alloy")} />`;
  return html`<div class="form work-of-batch"><${WorkFields} cards=${cards.value} form=${form} machine=${machine} lately=${offered()} last=${last} optional />
    <${Demanded} demands=${demands} brief />
    ${stopped && html`<${TickField} label="It was run all the same" hint="Kept beside the batch as an open hazard" ...${form.tick("anyway")} error=${form.errors.anyway ?? null}
      onValue=${(/** @type {boolean} */ on) => form.set({ anyway: on ? "yes" : "" })} />`}
    ${stopped && error && !form.values.anyway && html`<p class="soft">With a stop standing the batch is not started. The figures below are for what was run.</p>`}</div>`;
}
