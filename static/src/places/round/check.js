// One check, large: what to look at, the last value beside it, the answer, the way forward always in one spot.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { BandStrip, Button, Cautions, Icon, Notice, TextField, figure, limitsSaid } from "../../kit/index.js";
import { keepPhoto } from "../../store/index.js";
import { answerOf, readingOf } from "./run.js";

/**
 * @typedef {import("./run.js").Check} Check
 * @typedef {import("./run.js").Answer} Answer
 * @typedef {{ answer: "ok" | "not ok" | "n/a", typed?: string, value?: number, verdict?: string, choice?: string }} Given
 * @typedef {object} CheckProps
 * @property {Check} check
 * @property {import("./run.js").Run} run
 * @property {string} last the last values, said
 * @property {(string | null | undefined)[]} cautions keys
 * @property {(some: Partial<Answer>) => void} onChange keeps what is half done
 * @property {(given: Given) => void} onAnswer
 * @property {() => void} onBack
 */

/** What the figure in the field comes to. @param {{ check: Check, typed: string }} props */
function Judgement({ check, typed }) {
  const read = readingOf(check, typed);
  const shown = typed.trim() === "" ? null : read.value;
  const unit = check.unit ?? "";
  const word = read.judged ? read.judged.word : "";
  return html`${check.band && html`<${BandStrip} band=${check.band} value=${shown} unit=${unit} word=${word} />`}
    <p class="judged" role="status">${shown !== null && read.judged
      ? html`<b>${read.judged.stop ? "Stop. " : ""}${word.charAt(0).toUpperCase() + word.slice(1)}.</b> `
      : check.band && html`<span class="soft">${limitsSaid(check.band, unit)}. </span>`}
    ${shown !== null && check.factor && check.factor !== 1 && html`<span class="num">${figure(shown)} ${unit}</span> = ${typed.trim()} × ${figure(check.factor)}`}</p>`;
}

/** @param {{ check: Check, typed: string, error: string | null, onTyped: (typed: string) => void, onEnter: () => void }} props */
function Reading({ check, typed, error, onTyped, onEnter }) {
  const field = useRef(/** @type {HTMLInputElement | null} */ (null));
  useEffect(() => {
    if (matchMedia("(pointer: fine)").matches) field.current?.focus({ preventScroll: true });
  }, [check.id]);
  const unit = check.factor && check.factor !== 1 ? "on the instrument" : check.unit;
  return html`<form class="reading" onSubmit=${(/** @type {Event} */ e) => { e.preventDefault(); onEnter(); }}>
    <label class="away" for="reading">Reading${check.unit ? `, ${check.unit}` : ""}</label>
    <div class="reading-line"><input id="reading" ref=${field} class="num" type="text" inputmode="decimal" enterkeyhint="done" autocomplete="off"
      value=${typed} onInput=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onTyped(e.currentTarget.value)}
      aria-invalid=${error ? "true" : undefined} aria-describedby=${error ? "reading-error" : undefined} /><span>${unit}</span></div>
    ${error && html`<p class="field-error" id="reading-error" role="alert">${error}</p>`}
    <${Judgement} check=${check} typed=${typed} /></form>`;
}

/** @param {{ check: Check, choice: string | undefined, error: string | null, onChoice: (choice: string) => void }} props */
function Choices({ check, choice, error, onChoice }) {
  return html`<fieldset class="round-choices"><legend class="away">${check.text}</legend>
    ${(check.choices ?? []).map(({ text }) => html`<label key=${text} class=${`tile${choice === text ? " tile-on" : ""}`}>
      <input type="radio" name="choice" checked=${choice === text} onChange=${() => onChoice(text)} /><span>${text}</span></label>`)}
    ${error && html`<p class="field-error" role="alert">${error}</p>`}</fieldset>`;
}

/** Answers of this check by the way forward; an error when something is missing. @param {Check} check @param {Answer} answer @returns {{ given: Given } | { error: string }} */
function forward(check, answer) {
  if (check.photo && !answer.photo) return { error: "This check asks for a photo. Take one, then go on." };
  if (check.answer === "reading") {
    const { value, error, judged } = readingOf(check, answer.typed ?? "");
    if (value === null) return { error: error ?? "The reading is empty. Type a number." };
    return { given: { answer: judged?.stop ? "not ok" : "ok", value, verdict: judged?.verdict } };
  }
  if (check.answer === "choice") {
    const chosen = (check.choices ?? []).find(({ text }) => text === answer.choice);
    return chosen ? { given: { answer: chosen.ok ? "ok" : "not ok", choice: chosen.text } } : { error: "Nothing is chosen. Press one of the answers." };
  }
  return { given: { answer: "ok" } };
}

/** "OK", "Keep 5.8", "Keep". @param {Check} check @param {Answer} answer */
function forwardWord(check, answer) {
  if (check.answer === "ok") return "OK";
  const typed = check.answer === "reading" ? readingOf(check, answer.typed ?? "").value : null;
  return typed === null ? "Keep" : `Keep ${figure(typed, 3)}`;
}

/** Photo and note of a check. @param {Check} check @param {Answer} answer @param {CheckProps["onChange"]} onChange */
function useExtras(check, answer, onChange) {
  const [noting, setNoting] = useState(false);
  const [trouble, setTrouble] = useState(/** @type {string | null} */ (null));
  useEffect(() => {
    setNoting(Boolean(answer.note));
    setTrouble(null);
  }, [check.id]);
  /** @param {File | undefined} file */
  const photo = async (file) => {
    if (!file) return;
    try {
      const { sha256, kept, why } = await keepPhoto(file);
      onChange({ photo: sha256 });
      setTrouble(kept ? null : `The photo is not kept on this phone: ${why}`);
    } catch {
      setTrouble("The photo could not be read. Take it again.");
    }
  };
  return { noting, setNoting, trouble, photo };
}

/** 1 ok, 2 not ok, 3 not applicable, left arrow back: unless somebody is typing. @param {Record<string, () => void>} keys */
function useKeys(keys) {
  useEffect(() => {
    /** @param {KeyboardEvent} event */
    const press = (event) => {
      const on = /** @type {HTMLElement} */ (event.target);
      const typing = on.matches?.("input:not([type=radio]), textarea");
      const pressing = event.key === "Enter" && on.closest?.("button, a, summary, label");
      if (typing || pressing || event.repeat || event.ctrlKey || event.metaKey || event.altKey || !keys[event.key]) return;
      event.preventDefault();
      keys[event.key]();
    };
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  });
}

/** @param {CheckProps} props */
export function CheckScreen({ check, run, last, cautions, onChange, onAnswer, onBack }) {
  const answer = answerOf(run, check.id);
  const [error, setError] = useState(/** @type {string | null} */ (null));
  const extras = useExtras(check, answer, onChange);
  useEffect(() => setError(null), [check.id]);
  const keep = () => {
    const result = forward(check, answer);
    if ("error" in result) setError(result.error);
    else onAnswer(result.given);
  };
  const notOk = () => {
    const value = check.answer === "reading" ? readingOf(check, answer.typed ?? "") : null;
    onAnswer({ answer: "not ok", ...(value?.value !== null && value ? { value: value.value, verdict: value.judged?.verdict } : {}) });
  };
  const notApplicable = () => {
    if (check.stop && !answer.note?.trim()) {
      extras.setNoting(true);
      setError("This is a stop check. Write in the note why it does not apply, then press Not applicable again.");
    } else onAnswer({ answer: "n/a" });
  };
  useKeys({ 1: keep, 2: notOk, 3: notApplicable, ArrowLeft: onBack, Enter: keep });
  return html`<div class="round-body">
      ${check.stop && html`<p class="stop-check"><${Icon} name="hand" /> Stop check: not ok means it must not start</p>`}
      <h2>${check.text}</h2>
      ${check.how && html`<p class="how">${check.how}</p>`}
      ${last && html`<p class="last"><span class="soft">Last:</span> <span class="num">${last}</span></p>`}
      ${check.answer === "reading" && html`<${Reading} check=${check} typed=${answer.typed ?? ""} error=${error} onEnter=${keep}
        onTyped=${(/** @type {string} */ typed) => { setError(null); onChange({ typed }); }} />`}
      ${check.answer === "choice" && html`<${Choices} check=${check} choice=${answer.choice} error=${error}
        onChoice=${(/** @type {string} */ choice) => { setError(null); onChange({ choice }); }} />`}
      ${check.answer === "ok" && error && html`<p class="field-error" role="alert">${error}</p>`}
      ${extras.noting && html`<${TextField} label="Note" lines=${2} value=${answer.note ?? ""} focus onValue=${(/** @type {string} */ note) => onChange({ note })} />`}
      ${extras.trouble && html`<${Notice} live>${extras.trouble}<//>`}
      ${answer.photo && html`<p class="soft"><${Icon} name="camera" size=${20} /> A photo goes with this check.</p>`}
      <${Cautions} keys=${cautions} />
      ${check.why && html`<details class="why"><summary>Why, and where it comes from</summary><p>${check.why}</p><p class="soft">${check.source}</p></details>`}
    </div>
    <${Foot} answer=${answer} word=${forwardWord(check, answer)} onKeep=${keep} onNotOk=${notOk} onNotApplicable=${notApplicable}
      onBack=${onBack} onNote=${() => extras.setNoting(!extras.noting)} onPhoto=${extras.photo} noting=${extras.noting} first=${run.index === 0} />`;
}

/** A double tap's second half must not answer the next check. @param {() => void} act */
const once = (act) => (/** @type {MouseEvent} */ event) => {
  if (event.detail <= 1) act();
};

/** @param {any} props */
function Foot({ answer, word, onKeep, onNotOk, onNotApplicable, onBack, onNote, onPhoto, noting, first }) {
  return html`<div class="round-foot">
    <div class="round-main"><button type="button" class=${`button big line${answer.answer === "not ok" ? " was" : ""}`} onClick=${once(onNotOk)}>Not ok</button>
      <button type="button" class="button big forward" onClick=${once(onKeep)}>${word}</button></div>
    <div class="round-more"><button type="button" class=${`button line${answer.answer === "n/a" ? " was" : ""}`} onClick=${once(onNotApplicable)}>Not applicable</button>
      <label class="button line" tabindex="-1">${answer.photo ? "New photo" : "Photo"}<input class="away" type="file" accept="image/*" capture="environment"
        onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => onPhoto(e.currentTarget.files?.[0])} /></label>
      <button type="button" class="button line" aria-pressed=${noting} onClick=${onNote}>Note</button>
      <${Button} line off=${first} onPress=${onBack}>Back<//></div>
    <p class="round-keys" aria-hidden="true">Keys: 1 or Enter goes on, 2 not ok, 3 not applicable, left arrow back</p>
  </div>`;
}
