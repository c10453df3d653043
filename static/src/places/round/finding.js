// A check that is not ok: what was found, whether it stops the machine, and whether a tag goes on at once.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, TextField, TickField } from "../../kit/index.js";
import { firstFinding, isStop } from "./run.js";

/**
 * @param {{ check: import("./run.js").Check, answer: import("./run.js").Answer, machine: string,
 *   onKeep: (finding: import("./run.js").Finding, end: boolean) => void, onBack: () => void }} props
 */
export function FindingScreen({ check, answer, machine, onKeep, onBack }) {
  const [found, setFound] = useState(answer.finding ?? firstFinding(check, answer));
  const [error, setError] = useState(/** @type {string | null} */ (null));
  const mustStop = isStop(check, answer);
  const stop = mustStop || found.stop;
  /** @param {boolean} end */
  const keep = (end) => {
    if (!found.text.trim()) setError("What was found is empty. Write a few words, so that the next person knows.");
    else onKeep({ ...found, stop }, end);
  };
  return html`<div class="round-body">
      <h2>What did you find?</h2>
      <p class="how">${check.text}</p>
      <${TextField} label="What is wrong" lines=${3} value=${found.text} error=${error}
        onValue=${(/** @type {string} */ text) => { setError(null); setFound({ ...found, text }); }} />
      <${TickField} label="It stops the machine" on=${stop}
        hint=${mustStop ? "This is a stop check: the machine must not start until it is put right." : "Tick it when nobody may start the machine until it is put right."}
        onValue=${(/** @type {boolean} */ on) => setFound({ ...found, stop: on, tag: on || found.tag })} />
      <${TickField} label=${`Tag ${machine} at once`} hint="Do not operate. Hang the real tag too." on=${found.tag}
        onValue=${(/** @type {boolean} */ tag) => setFound({ ...found, tag })} />
      <${TickField} label="Raise a task to put it right" on=${found.raise} onValue=${(/** @type {boolean} */ raise) => setFound({ ...found, raise })} />
    </div>
    <div class="round-foot">
      <div class="round-main"><${Button} big line onPress=${onBack}>Back<//><${Button} big onPress=${() => keep(false)}>Keep, next check<//></div>
      ${stop && html`<div class="round-one"><${Button} big line onPress=${() => keep(true)}>Keep, and end the round here<//></div>`}
    </div>`;
}
