// What was measured in the air and in the ear, each as bars against limits; and what nobody measured yet.
import { html } from "htm/preact";
import { ButtonLink, Empty, Page, Section, StateMark, capital, sayDay } from "../../kit/index.js";
import { Caution } from "../../kit/caution.js";
import { cards, state } from "../../store/index.js";
import { CLASSES } from "../../core/respirators.js";
import { kept } from "../ahead/kept.js";
import { nameOf } from "../names.js";
import { calendar } from "../world.js";
import { markOfWord, notMeasured } from "./bars.js";
import { rowsOf } from "./measured-rows.js";
import { ShareBars } from "./share-bars.js";
import { NoCards, authorities, dayAt, lately } from "./shared.js";
import { alloyName, matters } from "./work.js";

/** Of whom or where, at what work. @param {any} row */
function whereOf(row) {
  const work = cards.value?.processes[row.process]?.name;
  return [row.person ? nameOf(row.person) : row.place, row.machine && nameOf(row.machine), work, row.alloy && alloyName(cards.value, row.alloy)].filter(Boolean).join(", ");
}

/** @param {{ row: any }} props */
function Respirator({ row }) {
  const found = row.respirator;
  if (!found) return null;
  const names = found.classes.map((/** @type {string} */ key) => CLASSES.find((one) => one.key === key)?.name).filter(Boolean).slice(0, 4);
  return html`<${Caution} signal="warning" hazard="lung" title=${capital(found.word)}
    text=${`${names.length ? `${names.join("; ")}. ` : ""}${found.why} A respirator counts only with a fit test, a programme and a clean shave.`} />`;
}

/** @param {{ row: any }} props */
function Measured({ row }) {
  return html`<${Section} title=${`${row.name}${row.form && row.form !== "any" ? `, ${row.form}` : ""}`} aside=${html`<${StateMark} mark=${markOfWord(row.word)} word=${row.word} />`}>
    <p>${whereOf(row)}. <span class="soft">Measured ${sayDay(row.on, calendar.value.today)}.</span></p><p>${row.say}</p>
    ${cards.value && html`<${ShareBars} row=${row} cards=${cards.value} />`}
    <${Respirator} row=${row} />
    <p><a class="more-link" href=${`#/air/measure/${row.agent}`}>What to measure, and how long</a></p>
    ${row.silent.length > 0 && html`<p class="soft">No limit for this in the library: ${row.silent.map((/** @type {string} */ key) => cards.value?.authorities[key]?.name ?? key).join(", ")}.</p>`}<//>`;
}

/** Every measurement that counts now, the worst first; by the server's document while the cards are not here, or are older. */
export function measuredRows() {
  const library = cards.value;
  if (!library?.noise) return kept.value?.air?.exposures ?? [];
  return rowsOf(library, state.value.shop.exposures, authorities(), calendar.value.today, dayAt);
}

/** What the alloys of late ask to be measured. */
export function missingMeasurements() {
  const library = cards.value;
  if (!library) return [];
  return notMeasured(library, lately(30).map(({ alloy }) => matters(library, alloy).filter(({ said }) => !said.endsWith("base"))), state.value.shop.exposures);
}

/** @param {{ list: { substance: string, name: string }[] }} props */
export function NotMeasured({ list }) {
  if (!list.length) return null;
  return html`<${Section} title="Not measured yet"><p class="soft">Nothing can be said of an exposure that nobody measured: what the work asks stands under Start of work.</p>
    <ul class="lines">${list.map(({ substance, name }) => html`<li key=${substance}><a href=${`#/air/measure/${substance}`}><b>${name}</b><span class="soft">what to measure</span></a></li>`)}</ul><//>`;
}

export default function Exposures() {
  const rows = measuredRows();
  return html`<${Page} title="Exposures" back="#/air" foot=${html`<${ButtonLink} big href="#/air/log/exposure">Log a measurement<//>`}>
    ${!cards.value && html`<${NoCards} />`}<${NotMeasured} list=${missingMeasurements()} />
    ${!rows.length && html`<${Empty}>No measurement is in the record. Without one there is no bar: it would be made up.<//>`}
    <div class="families">${rows.map((/** @type {any} */ row) => html`<${Measured} key=${row.entry} row=${row} />`)}</div>
    ${rows.length > 0 && html`<p class="soft">The line across each bar is the limit. Below a limit is below the limit, and nothing more.</p>`}<//>`;
}
