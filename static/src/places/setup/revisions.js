// The revisions of a definition, newest first, with what each one changed. Rounds name the revision that they ran.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Section, sayWhen } from "../../kit/index.js";
import { ask } from "../../store/index.js";
import { initialsOf } from "../names.js";
import { calendar } from "../world.js";
import { differences } from "./clash.js";
import { labelOf, sayValue } from "./labels.js";

/** @typedef {{ revision: number, retired: boolean, by: string, ms: number, body: Record<string, any> }} Revision */

/** What a revision changed against the one before it. @param {Revision} one @param {Revision | undefined} before */
function changes(one, before) {
  if (!before) return [{ key: "new", text: "set up" }];
  const found = differences(before.body, one.body, before.body).map((difference) => ({
    key: difference.key, text: `${labelOf(difference)}: ${sayValue(difference.path, difference.theirs)} → ${sayValue(difference.path, difference.mine)}`,
  }));
  return one.retired === before.retired ? found : [{ key: "retired", text: one.retired ? "taken out of use" : "put back in use" }, ...found];
}

/** @param {{ type: string, id: string, revision: number }} props */
export function Revisions({ type, id, revision }) {
  const [all, setAll] = useState(/** @type {Revision[] | null} */ (null));
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const look = async () => {
    try {
      setAll(await ask("GET", `/definitions/${type}/${id}/revisions`));
      setProblem(null);
    } catch (error) {
      setProblem(error instanceof Error ? error.message : String(error));
    }
  };
  return html`<${Section} title="Revisions" aside=${html`this is <b class="num">${revision}</b>`}>
    ${!all && html`<div class="row"><${Button} line onPress=${look}>Show what changed<//></div>`}
    ${problem && html`<p class="field-error" role="alert">${problem}</p>`}
    ${all && html`<ol class="revisions">${all.map((one, index) => html`<li key=${one.revision}><b><span class="num">${one.revision}</span> · ${sayWhen(new Date(one.ms).toISOString(), { zone: calendar.value.zone })}, ${initialsOf(one.by)}</b>
      <ul>${changes(one, all[index + 1]).map(({ key, text }) => html`<li key=${key}>${text}</li>`)}</ul></li>`)}</ol>`}<//>`;
}
