// Jobs of the shop's server that fail: what that means, in plain words, and the mend.
import { html } from "htm/preact";
import { Notice, sayWhen } from "../../kit/index.js";
import { reminders, upkeep } from "../../store/index.js";
import { calendar, world } from "../world.js";
import { sayJob } from "./jobs.js";

/** @typedef {{ job: string, since: string, said: string }} Trouble */

/** The jobs that fail, as this phone heard last. @returns {Trouble[]} */
const failing = () => reminders.value?.troubles ?? upkeep.value?.troubles ?? [];

/** Said on Today. */
export function Troubles() {
  const { zone } = calendar.value;
  return html`${failing().map(({ job, since, said }) => {
    const [wrong, follows] = sayJob(job);
    return html`<${Notice} key=${job} live title=${`${wrong}, since ${sayWhen(since, { zone, now: world.value.now })}.`}>${follows} The server says: ${said}
      <p>Who looks after the server runs <code>wayround doctor</code> on it: that names the mend.</p><//>`;
  })}`;
}
