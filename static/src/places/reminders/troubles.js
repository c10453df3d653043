// Jobs of the shop's server that fail: what that means, in plain words, and the mend.
import { html } from "htm/preact";
import { Notice, sayWhen } from "../../kit/index.js";
import { reminders, upkeep } from "../../store/index.js";
import { calendar, world } from "../world.js";

/** @typedef {{ job: string, since: string, said: string }} Trouble */

/** A job by its name: what fails, and what follows. @type {Record<string, [string, string]>} */
const JOBS = {
  "daily roll": ["What falls due each night is not worked out", "Phones still judge it by themselves."],
  reminders: ["Nobody is reminded", "What is due still stands below, at each machine."],
  digest: ["The day's digest is not made", "What is due still stands below, at each machine."],
  messages: ["Messages by push and mail do not go out", "What they would say stands here."],
  purge: ["Old reminders are not cleared out", "Nothing is lost by it."],
  backup: ["The nightly backup is not made", "Until it is, the record stands in one place only."],
  feeds: ["Machines that count themselves are not read", "Their meters stand still until they are."],
};

/** What is wrong with a job, and what follows. @param {string} job @returns {[string, string]} */
export const sayJob = (job) => JOBS[job] ?? [`The server's job "${job}" fails`, ""];

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
