// A note, with a photo when that says it better.
import { html } from "htm/preact";
import { Button, Form, Page, PhotoField, SelectField, TextField, useForm } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { KeptPage, photoOf, useBegun, useKeeping } from "../keeping.js";
import { inUse } from "../standing.js";

/** @param {import("./shared.js").LogProps} props */
export default function Note({ query }) {
  const form = useForm({ machine: query.get("machine") ?? "", text: "", photo: /** @type {Blob | null} */ (null) });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title="Note" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: "#/log", text: "Log" }} />`;
  const send = async () => {
    const text = form.values.text.trim();
    if (!text) return form.setErrors({ text: "The note is empty. Write at least a word." });
    const body = { text, ...(await photoOf(form.values.photo)) };
    return keep([{ kind: "note.made", machine: form.values.machine || null, body }], text);
  };
  return html`<${Page} title="Note" back="#/log"><${Form} onSend=${send} problem=${problem}>
    <${SelectField} label="About" blank="The shop" options=${inUse(definitions.value.machines).map(({ id, name }) => ({ value: id, text: name }))} ...${form.field("machine")} />
    <${TextField} label="Note" lines=${4} maxLength=${4000} ...${form.field("text")} />
    <${PhotoField} photo=${form.values.photo} onPhoto=${(/** @type {Blob | null} */ photo) => form.set({ photo })} />
    <${Button} big>Keep the note<//><//><//>`;
}
