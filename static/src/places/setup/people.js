// People: who works here, by what initials, and with a PIN or without.
import { html } from "htm/preact";
import { Button, ChoiceField, TextField, useForm } from "../../kit/index.js";
import { definitions, makePin } from "../../store/index.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Add, Listing } from "./listing.js";
import { checkPerson, initialsFrom } from "./person-fields.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @type {Record<string, [string, string]>} */
const FIELDS = { name: ["person", "The name"], initials: ["initials", "Initials"], role: ["role", "The role"], pin: ["pin", "The PIN"] };
const ROLES = [{ value: "member", text: "Member", note: "walks rounds, logs work" }, { value: "owner", text: "Owner", note: "answers for the shop" }];

/** What is to happen to the PIN. @typedef {"keep" | "new" | "none"} PinPlan */

/** @param {{ form: any, had: boolean }} props */
function PinFields({ form, had }) {
  const { plan } = form.values;
  const field = html`<${TextField} label=${had ? "New PIN" : "PIN"} optional=${!had} type="tel" maxLength=${8} hint="4 to 8 digits. It says who is at the phone; it is no lock." ...${form.field("pin")} />`;
  if (!had) return field;
  if (plan === "keep") {
    return html`<div class="field"><b>PIN</b><p class="field-hint">A PIN is set. Nobody can read it; a new one takes its place.</p>
      <div class="row"><${Button} line onPress=${() => form.set({ plan: "new" })}>Set a new PIN<//><${Button} line onPress=${() => form.set({ plan: "none" })}>Take it off<//></div></div>`;
  }
  return html`${plan === "new" ? field : html`<div class="field"><b>PIN</b><p>It is taken off when you save.</p></div>`}
    <div class="row"><${Button} plain onPress=${() => form.set({ plan: "keep", pin: "" })}>Keep the PIN there is<//></div>`;
}

/** What is kept of the PIN, or why it cannot be made here. @param {{ plan: PinPlan, pin: string }} values @param {any} before @returns {Promise<{ pin: any, error: string | null }>} */
async function pinOf({ plan, pin }, before) {
  if (!pin || plan === "none") return { pin: plan === "keep" ? before ?? null : null, error: null };
  try {
    return { pin: await makePin(pin), error: null };
  } catch (error) {
    return { pin: null, error: error instanceof Error ? error.message : String(error) };
  }
}

/** @param {import("./editor.js").Opened} props */
function Person({ base, draft }) {
  const start = { person: String(base?.name ?? ""), initials: String(base?.initials ?? ""), role: String(base?.role ?? "member"), pin: "", plan: /** @type {PinPlan} */ ("keep") };
  // A PIN is nothing to lie about in a draft.
  const form = useForm({ ...(draft.values ?? start), pin: "" });
  const check = async () => {
    const { values } = form;
    const { errors, body } = checkPerson(values);
    if (values.plan === "new" && !values.pin) errors.pin = "The new PIN is empty. Type 4 to 8 digits, or keep the PIN there is.";
    const sound = Object.values(errors).every((error) => !error);
    const { pin, error } = sound ? await pinOf(values, base?.pin) : { pin: null, error: null };
    errors.pin ??= error;
    return { errors, body: { ...(base ? bodyOf(base) : {}), ...body, role: values.role, pin } };
  };
  const others = definitions.value.people.filter((one) => !one.retired && one.id !== base?.id);
  const short = (form.values.initials.trim() || initialsFrom(form.values.person)).toUpperCase();
  const twin = short && others.find((one) => String(one.initials).toUpperCase() === short);
  return html`<${Editor} type="person" on="people" noun="person" base=${base} draft=${draft} form=${form} start=${start} shown=${{ ...form.values, pin: "" }} check=${check} fields=${FIELDS}
    leaving="They can no longer be named on a phone; what they did stays in the record under their name.">
    <${TextField} label="Name" maxLength=${80} ...${form.field("person")} />
    <${TextField} label="Initials" optional hint="They stand beside every entry in the record." maxLength=${4} placeholder=${initialsFrom(form.values.person)} ...${form.field("initials")} />
    ${twin && html`<p class="field-hint" role="status">${twin.name} has the initials ${short} too. Choose others, so that the record tells them apart.</p>`}
    <${ChoiceField} label="Role" hint="Changing set-up takes the owner's password, whatever the role." options=${ROLES} ...${form.field("role")} />
    <${PinFields} form=${form} had=${Boolean(base?.pin)} />
    ${base && !base.retired && html`<p><a href=${`#/setup/reminders/${base.id}`}>How ${base.name} is reminded</a></p>`}<//>`;
}

/** @param {{ parts: string[] }} props */
export function People({ parts: [id] }) {
  const { people } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${people} on="people" noun="person" form=${Person} />`;
  const side = (/** @type {Definition} */ one) => [one.initials, one.role === "owner" && "owner", one.pin ? "PIN" : "no PIN"].filter(Boolean).join(" · ");
  return html`<${SetupPage} title="People" on="people"><${Add} on="people" text="Add a person" /><${Listing} list=${people} on="people" none="Nobody yet." side=${side} /><//>`;
}
