// What was measured in the air and in the ear, each as bars against limits; and what nobody measured yet.
import { html } from "htm/preact";
import { ButtonLink, Empty, Notice, Page, Section, StateMark, capital, figure, sayDay } from "../../kit/index.js";
import { Caution } from "../../kit/caution.js";
import { cards, state } from "../../store/index.js";
import { CLASSES } from "../../core/respirators.js";
import { Age, kept } from "../ahead/kept.js";
import { nameOf } from "../names.js";
import { calendar } from "../world.js";
import { barsOf, markOfWord, notMeasured } from "./bars.js";
import { lately, sayAt } from "./shared.js";
import { alloyName, matters } from "./work.js";

/** @param {{ bar: import("./bars.js").Bar }} props */
function ShareBar({ bar }) {
  return html`<li class=${`share${bar.own ? "" : " share-other"}`}><p><b>${bar.who}</b> <${StateMark} mark=${markOfWord(bar.word)} word=${bar.word} /></p>
    <div class="share-track" aria-hidden="true"><i class=${bar.beyond ? "share-fill share-beyond" : "share-fill"} style=${`width:${bar.width.toFixed(1)}%`}></i><i class="share-limit" style=${`left:${bar.mark.toFixed(1)}%`}></i></div>
    <p>${capital(bar.said)}</p></li>`;
}

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
  const bars = barsOf(row, cards.value);
  return html`<${Section} title=${`${row.name}${row.form && row.form !== "any" ? `, ${row.form}` : ""}`} aside=${html`<${StateMark} mark=${markOfWord(row.word)} word=${row.word} />`}>
    <p>${whereOf(row)}. <span class="soft">Measured ${sayDay(row.on, calendar.value.today)}.</span></p><p>${row.say}</p>
    ${bars.length > 0 && html`<ul class="shares">${bars.map((bar) => html`<${ShareBar} key=${bar.who + bar.said} bar=${bar} />`)}</ul>`}
    <${Respirator} row=${row} />
    ${row.silent.length > 0 && html`<p class="soft">No limit for this in the library: ${row.silent.map((/** @type {string} */ key) => cards.value?.authorities[key]?.name ?? key).join(", ")}.</p>`}<//>`;
}

/** Measurements that came after the document was worked out. @param {{ rows: any[] }} props */
function Newer({ rows }) {
  const known = new Set(rows.map((row) => row.entry));
  const asOf = kept.value ? Date.parse(kept.value.as_of) : 0;
  const later = Object.entries(state.value.shop.exposures ?? {}).flatMap(([key, list]) => list.filter((one) => !known.has(one.entry) && Date.parse(one.at) > asOf).map((one) => ({ key, one })));
  if (!later.length) return null;
  return html`<${Notice} title="Measured since"><ul>${later.map(({ key, one }) => html`<li key=${one.entry}>${capital(key.replace("/", ", ").replaceAll("_", " "))}: ${one.samples.map((/** @type {any} */ sample) =>
    `${sample.below_detection ? "below " : ""}${figure(sample.value, 4)} ${sample.unit} over ${figure(sample.minutes, 0)} min`).join(", ")} <span class="soft">(${sayAt(one.at)})</span></li>`)}</ul>
    Worked out with the others once there is signal.<//>`;
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
  return html`<${Notice} title=${`Not measured yet: ${list.map(({ name }) => name).join(", ")}`}>Nothing can be said of an exposure that nobody measured: what the work asks
    stands under Start of work. A hygienist, or a laboratory that lends samplers and meters, can measure it.<//>`;
}

export default function Exposures() {
  const rows = kept.value?.air?.exposures ?? [];
  return html`<${Page} title="Exposures" back="#/air" foot=${html`<${ButtonLink} big href="#/air/log/exposure">Log a measurement<//>`}>
    <${Age} what="Measurements against limits" /><${Newer} rows=${rows} /><${NotMeasured} list=${missingMeasurements()} />
    ${!rows.length && html`<${Empty}>No measurement is in the record. Without one there is no bar: it would be made up.<//>`}
    <div class="families">${rows.map((/** @type {any} */ row) => html`<${Measured} key=${row.entry} row=${row} />`)}</div>
    ${rows.length > 0 && html`<p class="soft">The line across each bar is the limit. Below a limit is below the limit, and nothing more.</p>`}<//>`;
}
