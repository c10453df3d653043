// The document of the past as this phone keeps it: how old it is, and whose figures are shown.
import { html } from "htm/preact";
import { useEffect } from "preact/hooks";
import { Notice, SelectField, go } from "../../kit/index.js";
import { definitions, head, history, link, lookBack, unsent } from "../../store/index.js";
import { sayAge } from "../ahead/words.js";
import { calendar, world } from "../world.js";

/** What is kept, or null before the first; asked for anew when a page that shows it is opened. @returns {any} */
export function usePast() {
  useEffect(() => {
    void lookBack();
  }, []);
  return history.value;
}

/** How old it is; said plainly when this phone knows more, or when there is none yet. */
export function Age() {
  if (!history.value) {
    if (link.value === "here") return html`<${Notice} live title="None on this phone yet.">It is on its way from the shop's server.<//>`;
    return html`<${Notice} title="None on this phone yet.">The shop's server reckons it from the record; this phone fetches it when it has
      signal, and keeps the last 53 weeks for when it has none.<//>`;
  }
  const { said, older } = sayAge(history.value, { head: head.value, unsent: unsent.value, zone: calendar.value.zone, now: world.value.now });
  return html`<p class=${older ? "age age-older" : "age soft"}>${said}${older && " This phone has entries that came after it; they count once it has been worked out again, with signal."}</p>`;
}

/** Machines that the document tells of, by name. @param {any} past @param {(subject: any) => boolean} [fits] */
export const machinesIn = (past, fits = () => true) => definitions.value.machines.filter(({ id }) => past?.machines[id] && fits(past.machines[id]));

/** Whose figures are shown; stands in the address. @param {{ page: string, machine: string, machines: { id: string, name: string }[], shop?: boolean }} props */
export function Whose({ page, machine, machines, shop }) {
  const options = [...machines.map(({ id, name }) => ({ value: id, text: name })), ...(shop ? [{ value: "shop", text: "What is the shop's own" }] : [])];
  return html`<${SelectField} label="Whose" blank="The whole shop" options=${options} value=${machine}
    onValue=${(/** @type {string} */ id) => go(id ? `records/${page}?machine=${id}` : `records/${page}`, { replace: true })} />`;
}
