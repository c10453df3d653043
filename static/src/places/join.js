// Joining: a one-time code from the owner lets this device into the shop.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Form, Page, TextField, go, useForm, where } from "../kit/index.js";
import { join, link, session, syncNow } from "../store/index.js";
import { named } from "./setup/naming.js";
import { arrive } from "./setup/arriving.js";
import { useAsking } from "./setup/waiting.js";
import { thisDevice } from "./setup/zones.js";

/** @type {Record<string, [string, string]>} */
const FIELDS = { code: ["code", "The code"], device_name: ["device", "The name of this device"] };

/** A device that is in already uses up no code. */
function Inside() {
  return html`<${Page} title="Join the shop"><p>This device is in the shop already. The code is not used up.</p>
    <div class="row"><${Button} onPress=${() => go("today", { replace: true })}>Go to Today<//></div><//>`;
}

export default function Join() {
  const [given] = useState(where.value.query.get("code") ?? "");
  const form = useForm({ code: given, device: thisDevice() });
  const { problem, wait, asking } = useAsking(FIELDS, form.setErrors);
  if (session.value.phase === "joined" && link.value !== "sign in again") return html`<${Inside} />`;
  const send = () => {
    const code = form.values.code.trim() ? null : "The code is empty. Type the eight letters that the owner's screen shows.";
    const device = named(form.values.device, "The name of this device", 80);
    if (code || device) return form.setErrors({ code, device });
    return asking(() => arrive("who?new=1", async () => {
      await join(form.values.code.trim(), form.values.device.trim());
      await syncNow();
    }));
  };
  return html`<${Page} title="Join the shop"><${Form} onSend=${send} problem=${problem}>
    <p>The owner makes a code under Set-up, Devices. Point this phone's camera at the square there, or type the letters below it.</p>
    <${TextField} label="Code" placeholder="ACEF-GHJK" autocomplete="one-time-code" focus=${!given} ...${form.field("code")} />
    <${TextField} label="Name of this device" hint="Such as Saw phone or Ana's phone." ...${form.field("device")} />
    <${Button} big off=${wait > 0}>${wait > 0 ? `Wait ${wait} s` : "Join"}<//>
    <p>Are you the owner? <a href="#/signin">Sign in with the password</a>.</p>
  <//><//>`;
}
