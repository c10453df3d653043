// Today: what is fit to start, what is due, and the way into the first round.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { ButtonLink, Dial, Empty, Page, StateMark, Tag, TagLine, longDay, timeIn } from "../kit/index.js";
import { now } from "../store/index.js";
import { ForMe } from "./reminders/panel.js";
import { Troubles } from "./reminders/troubles.js";
import { dialOf, sayNext } from "./standing.js";
import { allStandings, calendar } from "./world.js";

/** @typedef {import("./standing.js").Standing} Standing */

const LINES_SHOWN = 4;

/** The task nearest its due, for the dial. @param {Standing} standing */
export function leadingDial({ tasks }) {
  const running = tasks.filter(({ due }) => Boolean(due.every) && due.unit && due.fraction > 0);
  const lead = running.reduce((/** @type {import("./standing.js").Judged | null} */ best, one) => (!best || one.due.fraction > best.due.fraction ? one : best), null);
  return lead && dialOf(lead);
}

/** @param {Standing} standing */
function wayIn({ machine, startUp }) {
  if (startUp && machine && startUp.due.state !== "resting") return `#/round/${machine.id}/${startUp.checklist.id}`;
  return machine ? `#/machine/${machine.id}` : "#/machine/shop";
}

/** One machine's tag. @param {{ standing: Standing }} props */
function MachineTag({ standing }) {
  const { machine, lines, mark, word } = standing;
  const quiet = lines.length === 0;
  const dial = quiet ? null : leadingDial(standing);
  const next = quiet ? sayNext(standing) : "";
  const shown = lines.slice(0, LINES_SHOWN);
  const more = lines.length - shown.length;
  return html`<${Tag} href=${machine ? `#/machine/${machine.id}` : "#/machine/shop"} title=${machine?.name ?? "The shop"}
      aside=${dial && html`<${Dial} ...${dial} size=${104} />`} quiet=${quiet}>
    <${StateMark} mark=${mark} word=${word} />
    ${shown.map((line) => html`<${TagLine} key=${line.text}>${line.text}<//>`)}
    ${next && html`<${TagLine}>${next}<//>`}
    ${more > 0 && html`<${TagLine}>and ${more} more<//>`}
  <//>`;
}

/** The first machine whose start-up round waits and that no tag holds. @param {Standing[]} all */
function nextRound(all) {
  return all.find(({ startUp, mark }) => startUp && startUp.due.state !== "resting" && mark !== "tagged") ?? null;
}

export default function Today() {
  const all = allStandings.value;
  const { zone, today } = calendar.value;
  const next = nextRound(all);
  useEffect(() => badge(all.reduce((sum, one) => sum + one.count, 0)), [all]);
  const foot = next && html`<${ButtonLink} big href=${wayIn(next)}>Start the round: ${next.machine?.name}<//>`;
  return html`<${Page} title="Today" aside=${html`<span class="num">${longDay(today)} · ${timeIn(now.value, zone)}</span>`} foot=${foot}>
    <${Troubles} /><${ForMe} />
    <div class="today">${all.length > 0 && html`<${WeeksAhead} />`}
      <div class="tags">${all.map((standing) => html`<${MachineTag} key=${standing.machine?.id ?? "shop"} standing=${standing} />`)}</div></div>
    ${!all.length && html`<${Empty}>No machine stands here yet. <a href="#/setup">Add the first in Set-up</a>.<//>`}
  <//>`;
}

/** The weeks ahead are fetched after what must be seen first. */
function WeeksAhead() {
  const [Strip, setStrip] = useState(/** @type {import("preact").ComponentType | null} */ (null));
  useEffect(() => {
    import("./ahead/strip.js").then((found) => setStrip(() => found.default)).catch(() => {}); // Today stands without it
  }, []);
  return html`<div class="today-ahead">${Strip && html`<${Strip} />`}</div>`;
}

/** The figure on the app's own icon, where the phone can show one. @param {number} count */
function badge(count) {
  if (!("setAppBadge" in navigator)) return;
  const shown = count ? navigator.setAppBadge(count) : navigator.clearAppBadge();
  shown.catch(() => {}); // a phone may refuse; the screen says the same
}
