// The frame of every edit: the form, what it met when it was saved, and taking out of use.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Empty, Form, Notice, Section, go } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { bodyOf } from "./clash.js";
import { ClashView } from "./clash-view.js";
import { Changeable, SetupPage } from "./frame.js";
import { Revisions } from "./revisions.js";
import { done, useSaving } from "./saving.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {import("preact").ComponentChildren} Children */
/** @typedef {{ errors: Record<string, string | null>, body: Record<string, any> }} Checked */

/**
 * @typedef {object} EditorProps
 * @property {string} type of the definition
 * @property {string} on the page of set-up it belongs to
 * @property {string} noun such as "bay"
 * @property {Definition | null} base as the form was opened from; null makes a new one
 * @property {(errors: Record<string, string | null>) => void} setErrors
 * @property {() => Checked} check what was typed, with errors by field
 * @property {Record<string, [string, string]>} [fields] the server's path -> [the form's field, its label]
 * @property {string} [back] where it leads when it is kept; the list unless given
 * @property {string} [title]
 * @property {string} [leaving] what follows when it is taken out of use; null where that cannot be
 * @property {Children} [side] beside the form on a desk, under it on a phone
 * @property {Children} [children] the fields
 */

/** Taken out of use, never deleted: asked once more first. @param {{ base: Definition, noun: string, leaving: string, onRetire: (retired: boolean) => unknown }} props */
function Retire({ base, noun, leaving, onRetire }) {
  const [asking, setAsking] = useState(false);
  if (base.retired) {
    return html`<${Section} title="Out of use"><p>This ${noun} was taken out of use; its record stays.</p><div class="row"><${Button} line onPress=${() => onRetire(false)}>Put it back in use<//></div><//>`;
  }
  if (!asking) return html`<div class="row"><${Button} line onPress=${() => setAsking(true)}>Take it out of use<//></div>`;
  return html`<div class="sure" role="alert"><p><b>Take ${base.name} out of use?</b> ${leaving} Nothing is deleted, and it can be put back.</p>
    <div class="row"><${Button} onPress=${() => onRetire(true)}>Take it out<//><${Button} line onPress=${() => setAsking(false)}>Leave it<//></div></div>`;
}

/** @param {EditorProps} props */
export function Editor({ type, on, noun, base, setErrors, check, fields = {}, back = `setup/${on}`, title, leaving, side, children }) {
  const { met, setMet, problem, setProblem, save } = useSaving(type, base, fields, setErrors, (row) => {
    done.value = base ? `${row.name ?? "It"} is saved, revision ${row.revision}.` : `${row.name} is added.`;
    go(back, { replace: true });
  });
  const shown = title ?? (base ? String(base.name) : `A new ${noun}`);
  const send = () => {
    const { errors, body } = check();
    setProblem(null);
    if (Object.values(errors).some(Boolean)) {
      setProblem("Not saved yet: look at the fields marked above.");
      return setErrors(errors);
    }
    return save(body);
  };
  /** @param {boolean} retired */
  const retire = (retired) => base && save(bodyOf(base), { retired });
  return html`<${SetupPage} title=${shown} on=${on} here=${`setup/${on}/${base?.id ?? "new"}`} back=${`#/${back}`}>
    ${met ? html`<${ClashView} key=${met.now.revision} met=${met} problem=${problem} onKeep=${save} onDrop=${() => { setMet(null); go(back, { replace: true }); }} />`
    : html`<div class="edit-grid"><div class="stack">${base?.retired && html`<${Notice} title="Out of use."><//>`}<${Changeable}>
        <${Form} onSend=${send} problem=${problem}>${children}<div class="row"><${Button}>${base ? "Save" : `Add the ${noun}`}<//></div><//><//></div>
      <div class="side stack">${side}${base && html`<${Revisions} type=${type} id=${base.id} revision=${base.revision} />`}
        ${base && leaving && html`<${Changeable}><${Retire} base=${base} noun=${noun} leaving=${leaving} onRetire=${retire} /><//>`}</div></div>`}<//>`;
}

/**
 * The page of one definition: what it is opened from is held still while it is edited.
 * @param {{ id: string, list: Definition[], on: string, noun: string, form: import("preact").ComponentType<{ base: Definition | null }> }} props
 */
export function EditPage({ id, list, on, noun, form: Found }) {
  const [held, hold] = useState(/** @type {Definition | null} */ (null));
  const base = held ?? definitions.value.byId.get(id) ?? null;
  if (id === "new") return html`<${Found} base=${null} />`;
  if (!base || !list.some((one) => one.id === base.id)) {
    return html`<${SetupPage} title=${`No such ${noun}`} on=${on} back=${`#/setup/${on}`}><${Empty}>This ${noun} is not on this phone. It may come with the next signal.<//><//>`;
  }
  if (!held) hold(base);
  return html`<${Found} key=${id} base=${base} />`;
}
