// The form that changes an entry's body, for amending and for the tray.
import { html } from "htm/preact";
import { DateField, NumberField, TextField, TickField, useForm } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { nameOf, unitOf } from "../names.js";
import { fieldsOf, mendedBody, remadeRound, typedOf } from "./body.js";

/** @param {{ kind: string }} entry @param {any} body the one that counts now */
export function useBodyForm(entry, body) {
  const fields = fieldsOf(body, nameOf, unitOf);
  const form = useForm(Object.fromEntries(fields.map((field) => [field.path.join("."), typedOf(field)])));
  /** The new body, or null after showing the errors. */
  const read = () => {
    const result = mendedBody(body, fields, form.values);
    form.setErrors(result.errors);
    if (Object.keys(result.errors).length) return null;
    const checklist = entry.kind === "round.done" ? definitions.value.byId.get(body.checklist) : null;
    return { changed: result.changed, body: checklist ? remadeRound(result.body, checklist.checks) : result.body };
  };
  return { fields, form, read };
}

/** @param {{ editor: ReturnType<typeof useBodyForm> }} props */
export function BodyFields({ editor: { fields, form } }) {
  return fields.map(({ path, label, type }) => {
    const key = path.join(".");
    if (type === "number") return html`<${NumberField} key=${key} label=${label} ...${form.field(key)} />`;
    if (type === "tick") return html`<${TickField} key=${key} label=${label} ...${form.tick(key)} />`;
    if (type === "date") return html`<${DateField} key=${key} label=${label} ...${form.field(key)} />`;
    return html`<${TextField} key=${key} label=${label} lines=${2} ...${form.field(key)} />`;
  });
}
