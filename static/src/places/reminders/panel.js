// What the person who is here is to be told, on Today: what, where, how long, why now; done, or let it rest for a while.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Section, counted, figure, sayWhen } from "../../kit/index.js";
import { definitions, link, person, record, reminders, snooze, snoozes, synced, voidEntry } from "../../store/index.js";
import { allStandings, calendar, world } from "../world.js";
import { laterChoices } from "./later.js";
import { forPerson } from "./standing.js";

/** @typedef {import("../../store/types.js").Reminder} Reminder */
/** @typedef {{ ids: string[], what: string, entry?: import("../../store/types.js").Entry, until?: string }} Acted what was just done or put off, to be taken back */
/** @typedef {{ acted: (did: Acted) => void, failed: (error: unknown) => void }} Ears */

const SHOWN = 3;

/** @param {unknown} error */
const told = (error) => (error instanceof Error ? error.message : String(error));

/** @param {string} at */
const when = (at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });

/** How long some reminders are to rest. @param {{ ids: string[], what: string, ears: Ears, onClose: () => void }} props */
function Choices({ ids, what, ears, onClose }) {
  const rest = async (/** @type {string} */ until) => {
    try {
      await snooze(ids, until);
      ears.acted({ ids, what, until });
    } catch (error) {
      ears.failed(error);
    }
  };
  return html`<div class="told-later" role="group" aria-label=${`When to be told again: ${what}`}>
    ${laterChoices(world.value.now.getTime(), definitions.value.shop).map(({ text, when: at, until }) => html`<button type="button" key=${text} class="button line" onClick=${() => rest(until)}>
      <span>${text}<span class="tile-note num">${at}</span></span></button>`)}
    <${Button} plain onPress=${onClose}>Leave it<//></div>`;
}

/** @param {{ row: Reminder, ears: Ears }} props */
function Row({ row, ears }) {
  const [later, setLater] = useState(false);
  const { id, what, why, minutes, task, machine } = row;
  const done = async () => {
    try {
      const [entry] = await record([{ kind: "task.done", machine, body: { task } }]);
      ears.acted({ ids: [id], what, entry });
    } catch (error) {
      ears.failed(error);
    }
  };
  return html`<li class="told-row"><a href=${row.link}>${what}</a><p class="soft">${minutes ? `About ${figure(minutes, 0)} min. ` : ""}${why}</p>
    <div class="told-do">${task && html`<button type="button" class="button line" aria-label=${`Done: ${what}`} onClick=${done}>Done</button>`}
      <button type="button" class="plain" aria-expanded=${later} aria-label=${`Later: ${what}`} onClick=${() => setLater(!later)}>Later</button></div>
    ${later && html`<${Choices} ids=${[id]} what=${what} ears=${ears} onClose=${() => setLater(false)} />`}</li>`;
}

/** What stands at one place together. @param {{ bundles: import("./standing.js").Bundle[], ears: Ears }} props */
function Bundles({ bundles, ears }) {
  return html`<div class="told">${bundles.map(({ where, rows }) => html`<div key=${where} class="told-place"><h3>${where}</h3>
    <ul>${rows.map((row) => html`<${Row} key=${row.id} row=${row} ears=${ears} />`)}</ul></div>`)}</div>`;
}

/** What was just done or put off, with the way back. @param {{ did: Acted, onBack: () => unknown }} props */
function JustDone({ did: { what, until }, onBack }) {
  return html`<p class="told-said" role="status">${until ? `You are told again ${when(until)}: ${what}.` : `Done, and in the record: ${what}.`} <${Button} plain onPress=${onBack}>Take it back<//></p>`;
}

/** Something to unfold. @param {{ title: string, children?: import("preact").ComponentChildren }} props */
const More = ({ title, children }) => html`<details class="told-more"><summary>${title}</summary>${children}</details>`;

/** As many rows as fit the first glance, whole places where there is room. @param {import("./standing.js").Bundle[]} bundles @param {number} most */
export function firstRows(bundles, most) {
  let left = most;
  const cut = bundles.map(({ where, rows }) => {
    const shown = rows.slice(0, left);
    left -= shown.length;
    return { where, rows: shown };
  });
  return cut.filter(({ rows }) => rows.length);
}

/** @param {{ mine: import("./standing.js").ForPerson, ears: Ears }} props */
function Lists({ mine, ears }) {
  const [all, setAll] = useState(false);
  const [later, setLater] = useState(false);
  const { told: bundles, quiet, resting, count } = mine;
  const hidden = all ? 0 : count - SHOWN;
  const ids = bundles.flatMap(({ rows }) => rows.map(({ id }) => id));
  const coming = quiet.reduce((sum, { rows }) => sum + rows.length, 0);
  return html`<${Bundles} bundles=${all ? bundles : firstRows(bundles, SHOWN)} ears=${ears} />
    ${count > 1 && html`<div class="row">${hidden > 0 && html`<${Button} plain onPress=${() => setAll(true)}>Show ${hidden} more<//>`}
      <button type="button" class="plain" aria-expanded=${later} onClick=${() => setLater(!later)}>All of them later</button></div>`}
    ${later && html`<${Choices} ids=${ids} what=${counted(count, "thing")} ears=${ears} onClose=${() => setLater(false)} />`}
    ${coming > 0 && html`<${More} title=${`Coming up: ${coming}`}><${Bundles} bundles=${quiet} ears=${ears} /><//>`}
    ${resting.length > 0 && html`<${More} title=${`Put off: ${resting.length}`}><ul class="told-rests">${resting.map(({ id, what, where, until }) => html`<li key=${id}><span><b>${what}</b>
      <span class="soft"> ${where}. Again ${when(until)}.</span></span><${Button} plain onPress=${() => snooze([id], null).catch(ears.failed)}>Tell me now<//></li>`)}</ul><//>`}`;
}

/** Nothing at all when there is nothing to tell. */
export function ForMe() {
  const [did, setDid] = useState(/** @type {Acted | null} */ (null));
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  if (!person.value || !reminders.value) return null;
  const mine = forPerson(reminders.value.reminders, person.value.id, { world: world.value, all: allStandings.value, snoozes: snoozes.value });
  if (!mine.count && !mine.quiet.length && !mine.resting.length && !did) return null;
  const ears = {
    acted: (/** @type {Acted} */ next) => { setDid(next); setProblem(null); },
    failed: (/** @type {unknown} */ error) => setProblem(`It is not kept: ${told(error)}`),
  };
  const back = async () => {
    if (!did) return;
    try {
      await (did.entry ? voidEntry(did.entry, "Pressed by mistake.") : snooze(did.ids, null));
      setDid(null);
    } catch (error) {
      ears.failed(error);
    }
  };
  const long = mine.minutes ? ` · about ${figure(mine.minutes, 0)} min` : "";
  return html`<${Section} title="For you" aside=${mine.count ? html`<span class="num">${counted(mine.count, "thing")}${long}</span>` : "nothing now"}>
    ${problem && html`<p class="field-error" role="alert">${problem}</p>`}${did && html`<${JustDone} did=${did} onBack=${back} />`}
    <${Lists} mine=${mine} ears=${ears} />
    <p class="told-how soft">${link.value !== "here" && synced.value && `As of ${when(synced.value)}. `}<a href="#/setup/reminders">How you are told</a></p><//>`;
}
