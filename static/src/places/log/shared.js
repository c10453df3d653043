// What the quick entries have in common: which machine, and the frame of form and consequences.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Empty, Page, SelectField, capital, go, where } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { inUse } from "../standing.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ query: URLSearchParams }} LogProps */

/**
 * The machine that a form is for, out of those that fit it.
 * @param {URLSearchParams} query @param {(machine: Definition) => boolean} fits
 */
export function useMachine(query, fits) {
  const machines = inUse(definitions.value.machines).filter(fits);
  const asked = machines.find(({ id }) => id === query.get("machine"));
  const [chosen, setChosen] = useState(asked?.id ?? (machines.length === 1 ? machines[0]?.id ?? "" : ""));
  /** The choice stands in the address too, so that a reload finds it. @param {string} id */
  const choose = (id) => {
    setChosen(id);
    go(`${where.value.parts.join("/")}?${new URLSearchParams({ ...Object.fromEntries(query), machine: id })}`, { replace: true });
  };
  return { machines, machine: machines.find(({ id }) => id === chosen) ?? null, choose };
}

/** @param {{ machines: Definition[], machine: Definition | null, choose: (id: string) => void }} props */
export function MachineField({ machines, machine, choose }) {
  if (machines.length === 1) return html`<p class="soft">${machines[0]?.name}</p>`;
  return html`<${SelectField} label="Machine" blank="Choose a machine" value=${machine?.id ?? ""} onValue=${choose}
    options=${machines.map(({ id, name }) => ({ value: id, text: name }))} />`;
}

/** Said when set-up has nothing to log here. @param {{ title: string, missing: string }} props */
export function NothingToLog({ title, missing }) {
  return html`<${Page} title=${title} back="#/log"><${Empty}>${missing} <a href="#/setup">Add it in Set-up</a>.<//><//>`;
}

/** A core problem as an error by field; anything else is thrown on. @param {unknown} error @param {Record<string, string>} names field to what it is called */
export function faultOf(error, names) {
  const fault = /** @type {any} */ (error);
  if (!(error instanceof Error) || typeof fault.field !== "string") throw error;
  return { field: fault.field, text: `${capital(names[fault.field] ?? fault.field)}: ${fault.problem ?? fault.message} ${fault.mend ?? ""}`.trim() };
}

/** Task definitions that a change of this part arms. @param {Definition} machine @param {{ id: string, kind: string }} part */
export function armedBy(machine, part) {
  const after = (/** @type {any} */ rule) => rule.first_of?.some(after) || (rule.after === "part.changed" && rule.part === part.kind && (rule.only ?? part.id) === part.id);
  return inUse(definitions.value.tasks).filter((task) => task.machine === machine.id && after(task.rule));
}
