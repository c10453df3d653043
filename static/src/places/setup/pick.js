// Fields that several forms share: choose one that is known or write another, tick cautions, the limits of a reading.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { allCautions, BandStrip, NumberField, SelectField, TextField } from "../../kit/index.js";
import { LIMITS, readBand } from "./bands.js";

/** @typedef {import("../../kit/forms.js").Option} Option */

const OTHER = "\u0000other";

/** "line filter" for `line_filter`. @param {string} key */
export const plainName = (key) => key.replace(/[_.-]/g, " ");

/**
 * A list of what is known, with room for what is not.
 * @param {{ label: string, hint?: string, value: string, error?: string | null, options: Option[], other: string, blank?: string, optional?: boolean, maxLength?: number, onValue: (value: string) => void }} props
 *   `other`: the choice that opens the line to write in
 */
export function PickOrWrite({ label, hint, value, error, options, other, blank, optional, maxLength, onValue }) {
  const known = options.some((option) => option.value === value);
  const [writing, setWriting] = useState(value !== "" && !known);
  const pick = (/** @type {string} */ chosen) => {
    setWriting(chosen === OTHER);
    onValue(chosen === OTHER ? "" : chosen);
  };
  const list = html`<${SelectField} label=${label} hint=${hint} optional=${optional} value=${writing ? OTHER : value} blank=${blank ?? "Choose"}
    options=${[...options, { value: OTHER, text: other }]} error=${writing ? null : error} onValue=${pick} />`;
  return html`${list}${writing && html`<${TextField} label=${`${label}, written`} value=${value} maxLength=${maxLength} error=${error} onValue=${onValue} />`}`;
}

/** Boxes for the cautions that the shop has. @param {{ hint: string, value: string[], onValue: (keys: string[]) => void }} props */
export function CautionTicks({ hint, value, onValue }) {
  const turn = (/** @type {string} */ key, /** @type {boolean} */ on) => onValue(on ? [...value, key] : value.filter((one) => one !== key));
  const chosen = allCautions().filter(({ key }) => value.includes(key)).map(({ title }) => title);
  return html`<details class="field cautions"><summary><b>Cautions</b><span class="soft">${chosen.length ? chosen.join(", ") : "none chosen"}</span></summary><fieldset class="bare"><legend class="away">Cautions</legend><p class="field-hint">${hint}</p>
    <div class="ticks">${allCautions().map(({ key, title, signal }) => html`<label key=${key} class=${`tile${value.includes(key) ? " tile-on" : ""}`}><input type="checkbox"
      checked=${value.includes(key)} onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => turn(key, e.currentTarget.checked)} /><span>${title}<span class="tile-note">${signal.toUpperCase()}</span></span></label>`)}</div></fieldset></details>`;
}

/** One caution or none. @param {{ value: string, onValue: (key: string) => void }} props */
export function CautionChoice({ value, onValue }) {
  return html`<${SelectField} label="Caution" optional hint="It stands on the screen beside the check." blank="None" value=${value} onValue=${onValue}
    options=${allCautions().map(({ key, title, signal }) => ({ value: key, text: `${title} (${signal.toUpperCase()})` }))} />`;
}

/** The five limits, and how they lie. @param {{ inner: import("./members.js").Inner, unit: string }} props */
export function BandFields({ inner, unit }) {
  const { band } = readBand(/** @type {any} */ (inner.one));
  return html`<fieldset class="field"><legend>Limits</legend>
    <p class="field-hint">Leave out what does not matter. The library's figures are starting figures: the maker's manual replaces them.</p>
    <div class="limits">${LIMITS.map(([limit, label]) => html`<${NumberField} key=${limit} label=${label} unit=${unit} ...${inner.at(limit)} />`)}</div>
    ${band && html`<${BandStrip} band=${band} value=${null} unit=${unit} />`}</fieldset>`;
}
