// How one person is told: by which ways, when not, of what, and of which machines.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, ChoiceField, Form, Notice, Section, TextField, TickField, useForm } from "../../kit/index.js";
import { ask, definitions, link, Problem, syncNow } from "../../store/index.js";
import { ClashView } from "../setup/clash-view.js";
import { useKeeping } from "../setup/drafts.js";
import { useAsking } from "../setup/waiting.js";
import { inUse } from "../standing.js";
import { personStart, readPerson } from "./values.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @type {Record<string, [string, string]>} */
const FIELDS = {
  mail: ["address", "The mail address"], "quiet.begins": ["begins", "The begin of the quiet time"], "quiet.ends": ["ends", "The end of the quiet time"],
  channels: ["channels", "The ways"], about: ["about", "Of what"], machines: ["machines", "The machines"],
};
const WHEN = [{ value: "shop", text: "Within the shop's shifts" }, { value: "own", text: "Outside of my quiet time", note: "on working days" }];
const WHERE = [{ value: "all", text: "Every machine" }, { value: "some", text: "These only" }];

/** Of what a person hears. @param {Definition} person */
const abouts = (person) => [
  { value: "usual", text: "As usual", note: person.role === "owner" ? "the shop; the work too when nobody else hears of it" : "the work at the machines" },
  { value: "work", text: "The work", note: "tasks, rounds, coolant" }, { value: "shop", text: "The shop", note: "tags left on, orders, papers, phones" },
  { value: "both", text: "Both" }, { value: "none", text: "Nothing", note: "it still stands at each machine" },
];

/** @param {{ form: any }} props */
function Machines({ form }) {
  /** @type {string[]} */
  const chosen = form.values.machines;
  const put = (/** @type {string} */ id, /** @type {boolean} */ on) => form.set({ machines: on ? [...chosen, id] : chosen.filter((one) => one !== id) });
  return html`<${ChoiceField} label="Of which machines" hint="The shop itself always counts." options=${WHERE} ...${form.field("where")} />
    ${form.values.where === "some" && html`<div class="choice-tiles">${inUse(definitions.value.machines).map(({ id, name }) => html`<label key=${id} class=${`tile${chosen.includes(id) ? " tile-on" : ""}`}>
      <input type="checkbox" checked=${chosen.includes(id)} onChange=${(/** @type {any} */ e) => put(id, e.currentTarget.checked)} /><span>${name}</span></label>`)}</div>`}
    ${form.errors.machines && html`<p class="field-error" role="alert">${form.errors.machines}</p>`}`;
}

/** @param {{ form: any, person: Definition, mail: { set_up: boolean, sender: string | null } | null }} props */
function Fields({ form, person, mail }) {
  const { values, tick, field } = form;
  return html`<${TickField} label="Push" hint="To the phones and browsers that are switched on for it." ...${tick("push")} />
    <${TickField} label="Mail" hint=${mail && !mail.set_up ? "The server has no mail server yet: whoever looks after it sets WAYROUND_SMTP_HOST." : mail?.sender ? `From ${mail.sender}.` : "To the address below."} ...${tick("mail")} />
    ${(values.mail || values.address) && html`<${TextField} label="Mail address" type="email" autocomplete="email" maxLength=${254} ...${field("address")} />`}
    <${ChoiceField} label="When" options=${WHEN} ...${field("hours")} />
    ${values.hours === "own" && html`<div class="pair"><${TextField} label="Quiet from" type="time" ...${field("begins")} /><${TextField} label="to" type="time" ...${field("ends")} /></div>`}
    <${ChoiceField} label="Of what" options=${abouts(person)} ...${field("about")} /><${Machines} form=${form} />`;
}

/**
 * @param {{ base: Definition, draft: { values?: any, again: () => void }, may: boolean, mail: { set_up: boolean, sender: string | null } | null, onKept: () => void }} props
 */
export function PersonForm({ base, draft, may, mail, onKept }) {
  const start = personStart(base);
  const form = useForm({ ...start, ...draft.values });
  const over = useKeeping("reminders", base, form.values, start);
  const { problem, asking } = useAsking(FIELDS, form.setErrors);
  const [met, setMet] = useState(/** @type {any} */ (null));
  const save = (/** @type {any} */ body, /** @type {Definition} */ from) => asking(async () => {
    try {
      await ask("PUT", `/reminders/settings/${base.id}`, body, { etag: `"${from.revision}"` });
    } catch (error) {
      if (!(error instanceof Problem) || error.status !== 412 || !error.now) throw error;
      return setMet({ mine: body, base: base.reminders ?? {}, now: { ...error.now.reminders, id: base.id, revision: error.now.revision }, retired: false });
    }
    await over();
    await syncNow(); // so that what is shown next is what was kept
    onKept();
  });
  const send = () => {
    const { errors, body } = readPerson(form.values);
    form.setErrors(errors);
    return Object.values(errors).some(Boolean) ? undefined : save(body, base);
  };
  const off = !may || link.value !== "here";
  if (met) return html`<${ClashView} key=${met.now.revision} met=${met} problem=${problem} onKeep=${(/** @type {any} */ body) => save(body, met.now)} onDrop=${draft.again} />`;
  return html`<${Section} title=${`How ${base.name} is told`}>${draft.values && html`<${Notice} live title="What you wrote here and did not save is here again."><div class="row"><${Button} line onPress=${draft.again}>Throw it away<//></div><//>`}
    <fieldset class="bare" disabled=${!may}><${Form} onSend=${send} problem=${problem}><${Fields} form=${form} person=${base} mail=${mail} />
      <div class="row"><${Button} off=${off}>Save how ${base.name} is told<//>${link.value !== "here" && html`<span class="soft">Saving needs signal.</span>`}</div><//></fieldset><//>`;
}
