// Form controls: 48 px targets, a label above, the error below it naming the field and the mend.
import { html } from "htm/preact";
import { useId, useState } from "preact/hooks";
import { Icon } from "./icons.js";

/** @typedef {import("preact").ComponentChildren} Children */

/**
 * @typedef {object} FieldProps
 * @property {string} label
 * @property {string} [hint]
 * @property {string | null} [error]
 * @property {boolean} [optional]
 */

/**
 * The frame of a control: label, hint, the control, error.
 * @param {FieldProps & { id: string, children?: Children }} props
 */
function Frame({ id, label, hint, error, optional, children }) {
  return html`<div class=${`field${error ? " field-bad" : ""}`}>
    <label for=${id}>${label}${optional && html`<span class="soft"> (if you like)</span>`}</label>
    ${hint && html`<p class="field-hint" id=${`${id}-hint`}>${hint}</p>`}
    ${children}
    ${error && html`<p class="field-error" id=${`${id}-error`} role="alert">${error}</p>`}
  </div>`;
}

/** @param {string} id @param {FieldProps} props */
function described(id, { hint, error }) {
  const ids = [hint && `${id}-hint`, error && `${id}-error`].filter(Boolean).join(" ");
  return { "aria-describedby": ids || undefined, "aria-invalid": error ? "true" : undefined };
}

/**
 * @typedef {FieldProps & {
 *   value: string, onValue: (value: string) => void, name?: string, type?: string, lines?: number,
 *   autocomplete?: string, placeholder?: string, maxLength?: number, focus?: boolean
 * }} TextFieldProps
 */

/** One line of text, or several with `lines`. @param {TextFieldProps} props */
export function TextField(props) {
  const id = useId();
  const { value, onValue, name, type = "text", lines, autocomplete, placeholder, maxLength, focus } = props;
  /** @param {{ currentTarget: { value: string } }} event */
  const take = (event) => onValue(event.currentTarget.value);
  const shared = { id, name, value, onInput: take, placeholder, maxLength, autofocus: focus, ...described(id, props) };
  const control = lines
    ? html`<textarea rows=${lines} ...${shared}></textarea>`
    : html`<input type=${type} autocomplete=${autocomplete ?? "off"} ...${shared} />`;
  return html`<${Frame} id=${id} ...${props}>${control}<//>`;
}

/**
 * A figure with its unit beside it; brings up the phone's number pad.
 * @param {FieldProps & { value: string, onValue: (value: string) => void, unit?: string, whole?: boolean, name?: string, focus?: boolean }} props
 */
export function NumberField(props) {
  const id = useId();
  const { value, onValue, unit, whole, name, focus } = props;
  return html`<${Frame} id=${id} ...${props}><div class="with-unit">
    <input id=${id} name=${name} class="num" type="text" inputmode=${whole ? "numeric" : "decimal"} autocomplete="off" enterkeyhint="done"
      value=${value} onInput=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onValue(e.currentTarget.value)}
      autofocus=${focus} ...${described(id, props)} />
    ${unit && html`<span class="unit">${unit}</span>`}
  </div><//>`;
}

/** A date. @param {FieldProps & { value: string, onValue: (value: string) => void, min?: string, max?: string }} props */
export function DateField(props) {
  const id = useId();
  const { value, onValue, min, max } = props;
  return html`<${Frame} id=${id} ...${props}><input id=${id} class="num" type="date" value=${value} min=${min} max=${max}
    onInput=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onValue(e.currentTarget.value)} ...${described(id, props)} /><//>`;
}

/** @typedef {{ value: string, text: string, note?: string }} Option */

/** A list to choose one from, for many options. @param {FieldProps & { value: string, onValue: (value: string) => void, options: Option[], blank?: string }} props */
export function SelectField(props) {
  const id = useId();
  const { value, onValue, options, blank } = props;
  return html`<${Frame} id=${id} ...${props}><select id=${id} value=${value}
    onChange=${(/** @type {{ currentTarget: HTMLSelectElement }} */ e) => onValue(e.currentTarget.value)} ...${described(id, props)}>
    ${blank !== undefined && html`<option value="">${blank}</option>`}
    ${options.map((o) => html`<option key=${o.value} value=${o.value}>${o.text}</option>`)}
  </select><//>`;
}

/** Tiles to press one of, for few options. @param {FieldProps & { value: string, onValue: (value: string) => void, options: Option[] }} props */
export function ChoiceField({ label, hint, error, value, onValue, options }) {
  const id = useId();
  return html`<fieldset class=${`field choice${error ? " field-bad" : ""}`}>
    <legend>${label}</legend>
    ${hint && html`<p class="field-hint">${hint}</p>`}
    <div class="choice-tiles">${options.map(
      (o) => html`<label key=${o.value} class=${`tile${o.value === value ? " tile-on" : ""}`}>
        <input type="radio" name=${id} value=${o.value} checked=${o.value === value} onChange=${() => onValue(o.value)} />
        <span>${o.text}${o.note && html`<span class="tile-note">${o.note}</span>`}</span></label>`,
    )}</div>
    ${error && html`<p class="field-error" role="alert">${error}</p>`}
  </fieldset>`;
}

/** A box to tick. @param {FieldProps & { on: boolean, onValue: (on: boolean) => void }} props */
export function TickField({ label, hint, error, on, onValue }) {
  return html`<div class="field">
    <label class=${`tile${on ? " tile-on" : ""}`}><input type="checkbox" checked=${on}
      onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onValue(e.currentTarget.checked)} /><span>${label}${
        hint && html`<span class="tile-note">${hint}</span>`
      }</span></label>
    ${error && html`<p class="field-error" role="alert">${error}</p>`}
  </div>`;
}

/**
 * A photo from the camera or the phone's pictures.
 * @param {{ label?: string, photo: Blob | null, onPhoto: (photo: Blob | null) => void }} props
 */
export function PhotoField({ label = "Photo", photo, onPhoto }) {
  const id = useId();
  return html`<div class="field photo">
    <label class="button line" for=${id}><${Icon} name="camera" /> ${photo ? "Another photo" : label}</label>
    <input id=${id} class="away" type="file" accept="image/*" capture="environment"
      onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onPhoto(e.currentTarget.files?.[0] ?? null)} />
    ${photo && html`<span class="soft">Photo taken, ${Math.max(1, Math.round(photo.size / 1024))} kB.</span>
      <button type="button" class="plain" onClick=${() => onPhoto(null)}>Take it out</button>`}
  </div>`;
}

/**
 * @typedef {object} ButtonProps
 * @property {Children} [children]
 * @property {() => unknown} [onPress] left out on a button that sends its form
 * @property {boolean} [big] 76 px high, for use at the machine
 * @property {boolean} [line] outlined: not the way forward
 * @property {boolean} [plain] looks like a link
 * @property {boolean} [off]
 * @property {string} [icon]
 */

/** A button; while what it started runs it cannot be pressed again. @param {ButtonProps} props */
export function Button({ children, onPress, big, line, plain, off, icon }) {
  const [running, setRunning] = useState(false);
  const run = async () => {
    setRunning(true);
    try {
      await onPress?.();
    } finally {
      setRunning(false);
    }
  };
  const look = plain ? "plain" : `button${big ? " big" : ""}${line ? " line" : ""}`;
  return html`<button type=${onPress ? "button" : "submit"} class=${look} disabled=${off || running}
    onClick=${onPress ? run : undefined}>${icon && html`<${Icon} name=${icon} />`}${children}</button>`;
}

/** A link that looks like a button. @param {{ href: string, big?: boolean, line?: boolean, icon?: string, children?: Children }} props */
export function ButtonLink({ href, big, line, icon, children }) {
  return html`<a class=${`button${big ? " big" : ""}${line ? " line" : ""}`} href=${href}>${icon && html`<${Icon} name=${icon} />`}${children}</a>`;
}

/**
 * A form that is checked by its owner. `problem` is what went wrong beyond the fields.
 * @param {{ onSend: () => unknown, problem?: string | null, children?: Children }} props
 */
export function Form({ onSend, problem, children }) {
  const [sending, setSending] = useState(false);
  /** @param {Event} event */
  const send = async (event) => {
    event.preventDefault();
    if (sending) return;
    setSending(true);
    const form = /** @type {HTMLElement} */ (event.currentTarget);
    try {
      await onSend();
    } finally {
      setSending(false);
      requestAnimationFrame(() => /** @type {HTMLElement | null} */ (form.querySelector("[aria-invalid]"))?.focus());
    }
  };
  return html`<form class="form" novalidate onSubmit=${send}>
    ${children}
    ${problem && html`<p class="field-error form-problem" role="alert">${problem}</p>`}
  </form>`;
}

/**
 * Values and errors of a form by field name.
 * @template {Record<string, any>} T
 * @param {T} start
 */
export function useForm(start) {
  const [values, setValues] = useState(start);
  const [errors, setErrors] = useState(/** @type {Record<string, string | null>} */ ({}));
  /** @param {Partial<T>} some */
  const set = (some) => {
    setValues((before) => ({ ...before, ...some }));
    setErrors((before) => ({ ...before, ...Object.fromEntries(Object.keys(some).map((key) => [key, null])) }));
  };
  /** Props of a text-like control. @param {keyof T & string} name */
  const field = (name) => ({
    value: values[name],
    error: errors[name] ?? null,
    onValue: (/** @type {any} */ value) => set(/** @type {Partial<T>} */ ({ [name]: value })),
  });
  /** Props of a tick box. @param {keyof T & string} name */
  const tick = (name) => {
    const { value, ...rest } = field(name);
    return { on: Boolean(value), ...rest };
  };
  return { values, errors, set, setErrors, field, tick };
}
