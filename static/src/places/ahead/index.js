// The weeks ahead: how many minutes of upkeep each holds, by person, and which tasks they are.
import { html } from "htm/preact";
import { Page, Section } from "../../kit/index.js";
import { Age, kept } from "./kept.js";
import { Weeks, weeksAhead } from "./workload.js";

export default function Ahead() {
  const weeks = weeksAhead();
  return html`<${Page} title="The weeks ahead" back="#/today"><${Section}>
    <${Age} what="The work of the weeks to come" />
    ${weeks.length > 0 && html`<${Weeks} weeks=${weeks} />`}
    ${kept.value && weeks.length === 0 && html`<p>The weeks that were worked out are over. Go where there is signal, and they are worked out anew.</p>`}<//><//>`;
}
