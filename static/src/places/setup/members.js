// A list inside a definition (checks, meters, wearing parts, fluids): one row each, opened to be edited, moved by
// buttons. All of it is one form, kept in one go.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { Button, Empty, Icon, Section } from "../../kit/index.js";
import { errorKey, memberErrors, moved } from "./member-keys.js";
import { Press } from "./press.js";

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

/** What stands in the way of taking one out that is in use. @typedef {{ ids: string[], leaving: string }} Known */

/** The way out of the list; for what was saved already it is asked once more. @param {{ noun: string, leaving: string | null, onDrop: () => void, onClose: () => void }} props */
function WayOut({ noun, leaving, onDrop, onClose }) {
  const [asking, setAsking] = useState(false);
  if (asking) {
    return html`<div class="sure" role="alert"><p><b>${`Take this ${noun} out?`}</b> ${leaving}</p>
      <div class="row"><${Button} onPress=${onDrop}>Take it out<//><${Button} line onPress=${() => setAsking(false)}>Leave it<//></div></div>`;
  }
  return html`<div class="row"><${Button} line onPress=${() => (leaving ? setAsking(true) : onDrop())}>${`Take this ${noun} out`}<//><${Button} plain onPress=${onClose}>Close<//></div>`;
}

/** @typedef {{ id: string, to: "up" | "down" | "fields" }} Wanted where the keyboard goes on after a row has moved or come */

/** Rows that move lose the keyboard: give it back to the same button, or to the other one at an end. @param {Member[]} list */
function useFocus(list) {
  const rows = useRef(/** @type {HTMLElement | null} */ (null));
  const wanted = useRef(/** @type {Wanted | null} */ (null));
  useEffect(() => {
    const row = wanted.current && rows.current?.querySelector(`[data-member="${wanted.current.id}"]`);
    const places = row ? [...row.querySelectorAll(wanted.current?.to === "fields" ? ".member-body input, .member-body select" : ".mover")] : [];
    if (wanted.current?.to === "down") places.reverse();
    /** @type {any} */ (places.find((one) => !(/** @type {HTMLButtonElement} */ (one).disabled)))?.focus();
    wanted.current = null;
  }, [list]);
  return { rows, want: (/** @type {Wanted} */ next) => { wanted.current = next; } };
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
 * @param {Known} [props.known] those that were saved already, and what follows when one is taken out
 */
export function Members({ title, aside, form, name, noun, hint, none, make, line, fields, numbered, known }) {
  const [open, setOpen] = useState(/** @type {string[]} */ ([]));
  /** @type {Member[]} */
  const list = form.values[name];
  const { rows, want } = useFocus(list);
  const [said, say] = useState("");
  const faulty = (/** @type {string} */ id) => Object.entries(form.errors).some(([key, error]) => error && key.startsWith(`${name}/${id}/`));
  const toggle = (/** @type {string} */ id) => setOpen(open.includes(id) ? open.filter((one) => one !== id) : [...open, id]);
  const put = (/** @type {Member[]} */ next) => form.set({ [name]: next });
  const add = () => {
    const one = make();
    want({ id: one.id, to: "fields" });
    put([...list, one]);
    setOpen([...open, one.id]);
  };
  const move = (/** @type {number} */ index, /** @type {"up" | "down"} */ to) => {
    const place = to === "up" ? index - 1 : index + 1;
    want({ id: list[index].id, to });
    say(`${line(list[index]).title}: now ${place + 1} of ${list.length}`);
    put(moved(list, index, place));
  };
  const row = (/** @type {Member} */ one, /** @type {number} */ index) => {
    const { title: heading, note } = line(one);
    const shown = open.includes(one.id) || faulty(one.id);
    return html`<li key=${one.id} data-member=${one.id} class=${`member${shown ? " member-shown" : ""}`}><div class="member-head">
        <${Press} look="member-name" expanded=${shown} onPress=${() => toggle(one.id)}>
          ${numbered && html`<span class="member-number num">${index + 1}</span>`}<span><b>${heading || `A new ${noun}`}</b>${note && html`<span class="soft">${note}</span>`}</span><//>
        ${numbered && html`<${Movers} name=${heading} first=${index === 0} last=${index === list.length - 1}
          up=${() => move(index, "up")} down=${() => move(index, "down")} />`}</div>
      ${shown && html`<div class="member-body">${fields(innerOf(form, name, one))}
        <${WayOut} noun=${noun} leaving=${known?.ids.includes(one.id) ? known.leaving : null} onDrop=${() => put(list.filter((other) => other.id !== one.id))} onClose=${() => toggle(one.id)} /></div>`}</li>`;
  };
  return html`<${Section} title=${title} aside=${aside}>${hint && html`<p class="field-hint">${hint}</p>`}
    ${list.length ? html`<ol class="members" ref=${rows}>${list.map(row)}</ol>` : html`<${Empty}>${none}<//>`}
    ${form.errors[name] && html`<p class="field-error" role="alert">${form.errors[name]}</p>`}
    <span class="away" role="status">${said}</span><div class="row"><${Button} line onPress=${add}>${`Add a ${noun}`}<//></div><//>`;
}
