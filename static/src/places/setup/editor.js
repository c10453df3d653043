// The frame of every edit: the form, what it met when it was saved, and taking out of use.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Empty, Form, Notice, Page, Section, go } from "../../kit/index.js";
import { definitions, syncNow } from "../../store/index.js";
import { bodyOf } from "./clash.js";
import { ClashView } from "./clash-view.js";
import { done } from "./done.js";
import { useDraft, useKeeping } from "./drafts.js";
import { Changeable, hindrance, SetupPage } from "./frame.js";
import { Press } from "./press.js";
import { Revisions } from "./revisions.js";
import { useSaving } from "./saving.js";

/** @typedef {import("../../store/types.js").Definition} Definition */
/** @typedef {{ values?: any, again: () => void }} Draft what was typed earlier, if anything was; `again` begins anew from what is there now */
/** @typedef {import("preact").ComponentChildren} Children */
/** @typedef {{ errors: Record<string, string | null>, body: Record<string, any> }} Checked */
/** @typedef {{ base: Definition | null, draft: Draft }} Opened what a form is opened with; base null makes a new one */

/**
 * @typedef {object} EditorProps
 * @property {string} type of the definition
 * @property {string} on the page of set-up it belongs to
 * @property {string} noun such as "bay"
 * @property {Definition | null} base as the form was opened from
 * @property {Draft} draft
 * @property {import("./members.js").FormState} form
 * @property {Record<string, any>} start what the form began with when there is no draft
 * @property {Record<string, any>} [shown] what a draft may hold of the form, where that is not all of it
 * @property {() => Checked | Promise<Checked>} check what was typed, with errors by field
 * @property {Record<string, [string, string]>} [fields] the server's path -> [the form's field, its label]
 * @property {string} [back] where it leads when it is kept; the list unless given
 * @property {boolean} [goesOn] a new one leads to its own page, where more is added to it
 * @property {string} [title]
 * @property {string} [leaving] what follows when it is taken out of use; left out where that cannot be
 * @property {Children} [side] beside the form on a desk, under it on a phone
 * @property {Children} [children] the fields
 */

/** Taken out of use, never deleted: asked once more first. @param {{ base: Definition, noun: string, leaving: string, onRetire: (retired: boolean) => unknown }} props */
function Retire({ base, noun, leaving, onRetire }) {
  const [asking, setAsking] = useState(false);
  const off = hindrance() !== null;
  if (base.retired) {
    return html`<${Section} title="Out of use"><p>This ${noun} was taken out of use; its record stays.</p><div class="row"><${Button} line off=${off} onPress=${() => onRetire(false)}>Put it back in use<//></div><//>`;
  }
  if (!asking) return html`<div class="row"><${Button} line off=${off} onPress=${() => setAsking(true)}>Take it out of use<//></div>`;
  return html`<div class="sure" role="alert"><p><b>Take ${base.name} out of use?</b> ${leaving} Nothing is deleted, and it can be put back.</p>
    <div class="row"><${Button} off=${off} onPress=${() => onRetire(true)}>Take it out<//><${Button} line onPress=${() => setAsking(false)}>Leave it<//></div></div>`;
}

/** What became of an edit. @param {Definition | null} base @param {Definition} row as it is kept */
function sayKept(base, row) {
  if (!base) return `${row.name} is added.`;
  if (row.retired !== base.retired) return row.retired ? `${row.name} is out of use.` : `${row.name} is in use again.`;
  return `${row.name} is saved as revision ${row.revision}.`;
}

/** What was begun earlier is here again; or somebody saved meanwhile. @param {{ draft: Draft, base: Definition | null }} props */
function Begun({ draft, base }) {
  const newer = base && (definitions.value.byId.get(base.id)?.revision ?? 0) > base.revision;
  if (!draft.values && !newer) return null;
  return html`<${Notice} live title=${draft.values ? "What you wrote here and did not save is here again." : "Somebody saved this since you opened it."}>
    ${newer && html`<p>${draft.values && "Somebody saved this since. "}When you save, both are shown side by side.</p>`}
    <div class="row"><${Button} line onPress=${draft.again}>${newer ? "Begin anew from what is there" : "Throw it away"}<//></div><//>`;
}

/** Said beside the way forward, since the fields may lie far above. @param {Record<string, string | null>} errors */
function marked(errors) {
  const count = Object.values(errors).filter(Boolean).length;
  return count ? `Not saved yet: ${count === 1 ? "one field is" : `${count} fields are`} marked.` : null;
}

/** The way forward, with what stands in it. @param {{ base: Definition | null, noun: string, problem: string | null }} props */
function Save({ base, noun, problem }) {
  const why = hindrance();
  return html`<div class="save-bar">${problem && html`<p class="field-error" role="alert">${problem}</p>`}<${Button} off=${why !== null}>${base ? "Save" : `Add the ${noun}`}<//>${why === "no server" && html`<span class="soft">Saving needs signal.</span>`}
    ${why === "not the owner" && html`<${Press} look="plain" onPress=${() => scrollTo(0, 0)}>Sign in above<//>`}</div>`;
}

/** @param {EditorProps} props */
export function Editor({ type, on, noun, base, draft, form, start, shown = form.values, check, fields = {}, back = `setup/${on}`, goesOn, title, leaving, side, children }) {
  const over = useKeeping(on, base, shown, start);
  const leave = (/** @type {string} */ to = back) => go(to, { replace: true });
  const { met, setMet, problem, setProblem, save } = useSaving(type, base, fields, form.setErrors, async (row) => {
    await over();
    done.value = sayKept(base, row);
    leave(!base && goesOn ? `setup/${on}/${row.id}` : back);
  });
  const send = async () => {
    setProblem(null);
    const { errors, body } = await check();
    form.setErrors(errors);
    return Object.values(errors).some(Boolean) ? undefined : save(body);
  };
  const drop = async () => {
    await over();
    await syncNow(); // so that what is there is what is shown next
    setMet(null);
    leave();
  };
  const heading = title ?? (base ? String(base.name) : `A new ${noun}`);
  return html`<${SetupPage} title=${heading} on=${on} back=${`#/${back}`}>
    ${met ? html`<${ClashView} key=${met.now.revision} met=${met} problem=${problem} onKeep=${save} onDrop=${drop} />`
    : html`<div class="edit-grid"><div class="stack">${base?.retired && html`<${Notice} title="Out of use."><//>`}<${Begun} draft=${draft} base=${base} /><${Changeable}>
        <${Form} onSend=${send}>${children}<${Save} base=${base} noun=${noun} problem=${problem ?? marked(form.errors)} /><//><//></div>
      <div class="side stack">${side}${base && html`<${Revisions} type=${type} id=${base.id} revision=${base.revision} />`}
        ${base && leaving && html`<${Changeable}><${Retire} base=${base} noun=${noun} leaving=${leaving} onRetire=${(/** @type {boolean} */ retired) => save(bodyOf(base), { retired })} /><//>`}</div></div>`}<//>`;
}

/**
 * The page of one definition: what it is opened from is held still while it is edited.
 * @param {{ id: string, list: Definition[], on: string, noun: string, form: import("preact").ComponentType<Opened> }} props
 */
export function EditPage({ id, list, on, noun, form: Found }) {
  const [held, hold] = useState(/** @type {Definition | null} */ (null));
  const { kept, drop } = useDraft(on, id);
  if (kept === undefined) return html`<${Page} title="" back=${`#/setup/${on}`} />`;
  const draft = { values: kept?.values, again: () => { hold(null); drop(); } };
  const how = kept ? "draft" : "plain";
  if (id === "new") return html`<${Found} key=${how} base=${null} draft=${draft} />`;
  const base = kept?.base ?? held ?? definitions.value.byId.get(id) ?? null;
  if (!base || !list.some((one) => one.id === base.id)) {
    return html`<${SetupPage} title=${`No such ${noun}`} on=${on} back=${`#/setup/${on}`}><${Empty}>This ${noun} is not on this phone. It may come with the next signal.<//><//>`;
  }
  if (!kept && !held) hold(base);
  return html`<${Found} key=${`${how} ${base.revision}`} base=${base} draft=${draft} />`;
}
