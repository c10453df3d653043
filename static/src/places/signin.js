// The owner's sign-in: set-up is changed by the owner alone; everything else works without.
import { html } from "htm/preact";
import { Button, ButtonLink, Form, Notice, Page, Section, TextField, useForm, where } from "../kit/index.js";
import { link, ownerIn, ownerOut, session, syncNow } from "../store/index.js";
import { arrive } from "./setup/arriving.js";
import { useAsking } from "./setup/waiting.js";
import { thisDevice } from "./setup/zones.js";

/** @type {Record<string, [string, string]>} */
const FIELDS = { password: ["password", "The password"], device_name: ["device", "The name of this device"] };

/** What a device may do before and after. */
function MayDo() {
  return html`<${Section} title="Without the owner">
    <p>Every device of the shop may walk rounds, log work, put tags on and take them off, close findings and read the records.</p>
    <p>The owner alone may change set-up: machines, tasks, checklists, people, devices.</p>
    <p class="soft">The sign-in ends by itself twelve hours after it was last used.</p><//>`;
}

/** @param {{ to: string }} props */
function SignedIn({ to }) {
  const { problem, asking } = useAsking({}, () => {});
  return html`<${Page} title="Owner" back="#/setup"><div class="form-grid"><div class="stack">
    <${Notice} live title="The owner is signed in on this device."><//>
    <div class="row"><${ButtonLink} href=${`#/${to}`}>Go on<//><${Button} line onPress=${() => asking(ownerOut)}>Sign out<//></div>
    ${problem && html`<p class="field-error" role="alert">${problem}</p>`}</div>
    <div class="side"><${MayDo} /></div></div><//>`;
}

export default function SignIn() {
  const to = where.value.query.get("to") ?? "setup";
  const { phase, owner } = session.value;
  const out = phase === "joined" && link.value === "sign in again";
  const strange = phase !== "joined" || out;
  const form = useForm({ password: "", device: thisDevice() });
  const { problem, wait, asking } = useAsking(FIELDS, form.setErrors);
  if (owner && !out) return html`<${SignedIn} to=${to} />`;
  const send = () => {
    if (!form.values.password) return form.setErrors({ password: "The password is empty. Type the owner's." });
    return asking(() => arrive(to, async () => {
      await ownerIn(form.values.password, strange ? form.values.device.trim() || thisDevice() : undefined);
      if (strange) await syncNow();
    }));
  };
  return html`<${Page} title="Sign in as owner" back=${phase === "joined" ? `#/${to}` : undefined}><div class="form-grid">
    <${Form} onSend=${send} problem=${problem}>
      ${out && html`<${Notice} title="This device was signed out of the shop.">What it had not sent is kept here, and is offered to be sent once it is let in again.<//>`}
      <${TextField} label="Owner's password" type="password" autocomplete="current-password" focus ...${form.field("password")} />
      ${strange && html`<${TextField} label="Name of this device" hint="So that you can tell it from the others." ...${form.field("device")} />`}
      <${Button} big off=${wait > 0}>${wait > 0 ? `Wait ${wait} s` : "Sign in"}<//>
      ${strange && html`<p>Not the owner? <a href="#/join">Join with a code</a> that the owner makes under Set-up, Devices.</p>`}
    <//>
    <div class="side"><${MayDo} /></div></div><//>`;
}
