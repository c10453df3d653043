// The owner signs in where the work is, so that what is on the screen stays.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Form, Notice, TextField, useForm } from "../../kit/index.js";
import { ownerIn } from "../../store/index.js";
import { useAsking } from "./waiting.js";

/** @type {Record<string, [string, string]>} */
const FIELDS = { password: ["password", "The password"] };

/** @param {{ title?: string, say?: string }} props what the owner alone may do, and what is left to others */
export function OwnerHere({ title = "Only the owner changes set-up.", say = "It is here to read." }) {
  const [open, setOpen] = useState(false);
  const form = useForm({ password: "" });
  const { problem, wait, asking } = useAsking(FIELDS, form.setErrors);
  if (!open) {
    return html`<${Notice} live title=${title}><p>${say}</p>
      <div class="row"><${Button} line onPress=${() => setOpen(true)}>Sign in as owner<//></div><//>`;
  }
  const send = () => {
    if (!form.values.password) return form.setErrors({ password: "The password is empty. Type the owner's." });
    return asking(() => ownerIn(form.values.password));
  };
  return html`<div class="notice"><${Form} onSend=${send} problem=${problem}><${TextField} label="Owner's password" type="password" autocomplete="current-password" focus ...${form.field("password")} />
    <div class="row"><${Button} off=${wait > 0}>${wait > 0 ? `Wait ${wait} s` : "Sign in"}<//><${Button} line onPress=${() => setOpen(false)}>Not now<//></div><//></div>`;
}
