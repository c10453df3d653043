// A list inside a definition (checks, meters, wearing parts, fluids): one row each, opened to be edited, moved by
// buttons. All of it is one form, kept in one go.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Empty, Icon, Section } from "../../kit/index.js";
import { errorKey, memberErrors, moved } from "./member-keys.js";

/** @typedef {import("preact").ComponentChildren} Children */
/** @typedef {import("./member-keys.js").Member} Member */
/** @typedef {{ values: any, errors: Record<string, string | null>, set: (some: any) => void, setErrors: (next: any) => void }} FormState */
/** @typedef {{ one: Member, set: (some: Record<string, any>) => void, at: (field: string) => any, tick: (field: string) => any }} Inner */

/** The controls of one member. @param {FormState} form @param {string} name @param {Member} one @returns {Inner} */
function innerOf(form, name, one) {
  const set = (/** @type {Record<string, any>} */ some) => {
    form.set({ [name]: form.values[name].map((/** @type {Member} */ other) => (other.id === one.id ? { ...other, ...some } : other)) });
    form.setErrors((/** @type {any} */ before) => ({ ...before, ...memberErrors(name, one.id, Object.fromEntries(Object.keys(some).map((key) => [key, null]))) }));
  };
  const at = (/** @type {string} */ field) => ({
    value: one[field], error: form.errors[errorKey(name, one.id, field)] ?? null, onValue: (/** @type {any} */ value) => set({ [field]: value }),
  });
  const tick = (/** @type {string} */ field) => {
    const { value, ...rest } = at(field);
    return { on: Boolean(value), ...rest };
  };
  return { one, set, at, tick };
}

/** @param {{ up: () => void, down: () => void, first: boolean, last: boolean, name: string }} props */
function Movers({ up, down, first, last, name }) {
  return html`<span class="movers"><button type="button" class="mover" disabled=${first} aria-label=${`Move up: ${name}`} onClick=${up}><${Icon} name="up" size=${22} /></button>
    <button type="button" class="mover" disabled=${last} aria-label=${`Move down: ${name}`} onClick=${down}><${Icon} name="down" size=${22} /></button></span>`;
}

/**
 * @param {object} props
 * @param {string} props.title
 * @param {string} [props.aside]
 * @param {FormState} props.form
 * @param {string} props.name the form's value that holds the list
 * @param {string} props.noun such as "check"
 * @param {string} [props.hint]
 * @param {string} props.none said of an empty list
 * @param {() => Member} props.make a new one
 * @param {(one: Member) => { title: string, note?: Children }} props.line how its row reads
 * @param {(inner: Inner) => Children} props.fields
 * @param {boolean} [props.numbered] its order matters and can be changed
 */
export function Members({ title, aside, form, name, noun, hint, none, make, line, fields, numbered }) {
  const [open, setOpen] = useState(/** @type {string[]} */ ([]));
  /** @type {Member[]} */
  const list = form.values[name];
  const faulty = (/** @type {string} */ id) => Object.entries(form.errors).some(([key, error]) => error && key.startsWith(`${name}/${id}/`));
  const toggle = (/** @type {string} */ id) => setOpen(open.includes(id) ? open.filter((one) => one !== id) : [...open, id]);
  const put = (/** @type {Member[]} */ next) => form.set({ [name]: next });
  const add = () => {
    const one = make();
    put([...list, one]);
    setOpen([...open, one.id]);
  };
  const row = (/** @type {Member} */ one, /** @type {number} */ index) => {
    const said = line(one);
    const shown = open.includes(one.id) || faulty(one.id);
    return html`<li key=${one.id} class=${`member${shown ? " member-shown" : ""}`}><div class="member-head">
        <button type="button" class="member-name" aria-expanded=${shown} onClick=${() => toggle(one.id)}>
          ${numbered && html`<span class="member-number num">${index + 1}</span>`}<span><b>${said.title || `A new ${noun}`}</b>${said.note && html`<span class="soft">${said.note}</span>`}</span></button>
        ${numbered && html`<${Movers} name=${said.title} first=${index === 0} last=${index === list.length - 1}
          up=${() => put(moved(list, index, index - 1))} down=${() => put(moved(list, index, index + 1))} />`}</div>
      ${shown && html`<div class="member-body">${fields(innerOf(form, name, one))}
        <div class="row"><${Button} line onPress=${() => put(list.filter((other) => other.id !== one.id))}>${`Take this ${noun} out`}<//>
          <${Button} plain onPress=${() => toggle(one.id)}>Close<//></div></div>`}</li>`;
  };
  return html`<${Section} title=${title} aside=${aside}>${hint && html`<p class="field-hint">${hint}</p>`}
    ${list.length ? html`<ol class="members">${list.map(row)}</ol>` : html`<${Empty}>${none}<//>`}
    ${form.errors[name] && html`<p class="field-error" role="alert">${form.errors[name]}</p>`}
    <div class="row"><${Button} line onPress=${add}>${`Add a ${noun}`}<//></div><//>`;
}
