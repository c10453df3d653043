// Somebody else changed it meanwhile: both versions side by side, and a choice for each field that differs.
import { html } from "htm/preact";
import { useId, useState } from "preact/hooks";
import { Button, Form, Notice } from "../../kit/index.js";
import { bodyOf, differences, merge } from "./clash.js";
import { labelOf, sayValue } from "./labels.js";

/** @typedef {import("./clash.js").Side} Side */
/** @typedef {import("./saving.js").Met} Met */

/** @param {{ difference: import("./clash.js").Difference, pick: Side | null, bad: boolean, onPick: (side: Side) => void }} props */
function Choice({ difference, pick, bad, onPick }) {
  const id = useId();
  const tile = (/** @type {Side} */ side, /** @type {string} */ title) => html`<label class=${`tile${pick === side ? " tile-on" : ""}`}>
    <input type="radio" name=${id} checked=${pick === side} onChange=${() => onPick(side)} /><span><span class="tile-note">${title}</span>${sayValue(difference.path, difference[side])}</span></label>`;
  return html`<fieldset class=${`field choice${bad ? " field-bad" : ""}`}><legend>${labelOf(difference)}</legend>
    ${difference.pick === null && html`<p class="field-hint">Both changed it.</p>`}
    <div class="clash-sides">${tile("mine", "Yours")}${tile("theirs", "There now")}</div>
    ${bad && html`<p class="field-error" role="alert">Nothing is chosen. Press the one to keep.</p>`}</fieldset>`;
}

/**
 * @param {{ met: Met, problem: string | null, onKeep: (body: Record<string, any>, how: { retired: boolean, over: import("../../store/types.js").Definition }) => unknown, onDrop: () => void }} props
 */
export function ClashView({ met, problem, onKeep, onDrop }) {
  const { mine, now, base, retired } = met;
  const theirs = bodyOf(now);
  const found = differences(bodyOf(base), mine, theirs);
  const [picks, setPicks] = useState(/** @type {Record<string, Side | null>} */ (Object.fromEntries(found.map(({ key, pick }) => [key, pick]))));
  const [tried, setTried] = useState(false);
  const send = () => {
    setTried(true);
    if (found.some(({ key }) => !picks[key])) return undefined;
    return onKeep(merge(mine, theirs, found, /** @type {Record<string, Side>} */ (picks)), { retired: retired === base.retired ? now.retired : retired, over: now });
  };
  return html`<div class="stack"><${Notice} live title="Somebody changed this since you opened it.">
      ${found.length ? "Nothing is overwritten: choose for each field which one stays. What only one of you changed is chosen already." : "Both of you wrote the same: nothing is left to choose."}<//>
    <${Form} onSend=${send} problem=${problem}>${found.map((difference) => html`<${Choice} key=${difference.key} difference=${difference} pick=${picks[difference.key]}
        bad=${tried && !picks[difference.key]} onPick=${(/** @type {Side} */ side) => setPicks({ ...picks, [difference.key]: side })} />`)}
      <div class="row"><${Button}>Save what is chosen<//><${Button} line onPress=${onDrop}>Leave it as it is there<//></div><//></div>`;
}
