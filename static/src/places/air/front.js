// Air & dust: today's alloys and what they ask, open hazards, running purges, exhausts, people, what nobody measured.
import { html } from "htm/preact";
import { ButtonLink, Notice, Page, Section, StateMark, counted, figure } from "../../kit/index.js";
import { cards, definitions, person, recent, state } from "../../store/index.js";
import { OVER } from "../../core/purge.js";
import { nameOf } from "../names.js";
import { inUse } from "../standing.js";
import { isCabinet } from "./cabinet.js";
import { Countdown } from "./countdown.js";
import { crewCalendar } from "./crew-calendar.js";
import { Worn } from "./demands.js";
import { measuredRows, missingMeasurements } from "./exposures.js";
import { HazardList, openHazards } from "./hazards.js";
import { FormTiles } from "./log/index.js";
import { markOf, rowsOf, signOffOf, speaks } from "./people.js";
import { StandingRow, ToldToTheLead } from "./people-page.js";
import { usePurge } from "./purge-use.js";
import { NoCards, lately, sayAt } from "./shared.js";
import { exhausts } from "./trends.js";
import { alloyName, demandsOf, matters, ranBefore, usualWork } from "./work.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const WORDS = /** @type {Record<string, string>} */ ({ danger: "DANGER", warning: "WARNING", caution: "CAUTION", notice: "NOTICE" });
const SIGNALS = Object.keys(WORDS);
/** How many of each are listed here; the pages behind hold the rest. */
const [ALLOYS, WORKS, HAZARDS] = [4, 3, 4];

/** What the usual work of a machine asks of an alloy; the lower the rank the more pressing. @param {string} alloy @param {Definition} machine */
function workAt(alloy, machine) {
  const process = usualWork(machine)[0] ?? "";
  const demands = demandsOf(cards.value, { process, alloy, last: ranBefore(cards.value, recent.value, machine.id, alloy) });
  const word = demands?.cautions[0]?.signal ?? "";
  const rank = demands?.stops.length ? -1 : word ? SIGNALS.indexOf(word) : SIGNALS.length;
  return { machine, process, demands, word, rank };
}

/** @param {{ alloy: string, work: ReturnType<typeof workAt> }} props */
function WorkLine({ alloy, work: { machine, process, demands, word } }) {
  const href = `#/air/work?${new URLSearchParams({ machine: machine.id, alloy, process })}`;
  const stops = demands?.stops.length ?? 0;
  return html`<li class="work-line"><a href=${href}><b>${machine.name}</b>
    ${stops ? html`<${StateMark} mark="stop" word=${counted(stops, "stop")} />` : html`<span class="soft">${WORDS[word] ?? "no rule speaks to it"}</span>`}</a></li>`;
}

/** @param {{ row: { alloy: string, machines: string[], at: string } }} props */
function AlloyToday({ row }) {
  const inside = matters(cards.value, row.alloy).filter(({ said }) => !said.endsWith("base"));
  const works = row.machines.flatMap((id) => definitions.value.byId.get(id) ?? []).filter((one) => usualWork(one).length > 0)
    .map((machine) => workAt(row.alloy, machine)).sort((one, other) => one.rank - other.rank);
  const worn = [...new Set(works.flatMap(({ demands }) => demands?.ppe ?? []))];
  const more = works.length - WORKS;
  return html`<li class="alloy-today"><a class="alloy-name" href=${`#/air/alloy/${encodeURIComponent(row.alloy)}`}><b>${alloyName(cards.value, row.alloy)}</b> <span class="soft">ran ${sayAt(row.at)}</span></a>
    ${inside.length > 0 && html`<p>${inside.map(({ said }) => said).join(", ")}</p>`}
    <ul>${works.slice(0, WORKS).map((work) => html`<${WorkLine} key=${work.machine.id} alloy=${row.alloy} work=${work} />`)}</ul>
    ${worn.length > 0 && html`<details class="more"><summary><b>To wear</b><span class="soft">${counted(worn.length, "thing")}${more > 0 ? `; it ran at ${counted(more, "more machine")} too` : ""}</span></summary><${Worn} keys=${worn} /></details>`}</li>`;
}

function Alloys() {
  const rows = lately();
  return html`<${Section} title="Alloys of these days" aside=${html`<a class="more-link" href="#/air/alloys">All alloys</a>`}>
    ${!cards.value ? html`<${NoCards} />` : rows.length ? html`<ul class="alloys-today">${rows.slice(0, ALLOYS).map((row) => html`<${AlloyToday} key=${row.alloy} row=${row} />`)}</ul>`
      : html`<p class="soft">No batch of the last seven days names its alloy. Name it in the batch log, and what it asks stands here.</p>`}<//>`;
}

/** A cabinet's timer where one is known on this phone. @param {{ machine: Definition }} props */
function Timer({ machine }) {
  const { kept: purge } = usePurge(machine.id);
  const running = purge && purge.purge?.phase !== OVER;
  const last = state.value.machines[machine.id]?.purge;
  return html`<li class="timer">${running ? html`<a class="timer-link" href=${`#/air/purge/${machine.id}`}><b>${machine.name}</b></a><${Countdown} kept=${purge} />`
    : html`<a class="timer-link" href=${`#/air/purge/${machine.id}`}><b>${machine.name}</b><span class="soft">${last ? `purged ${sayAt(last.at)}${last.seconds < last.needed ? ", cut short" : ""}` : "no purge in the record"}</span></a>`}</li>`;
}

function Timers() {
  const cabinets = inUse(definitions.value.machines).filter(isCabinet);
  if (!cabinets.length) return null;
  return html`<${Section} title="Purge timers"><ul class="lines">${cabinets.map((machine) => html`<${Timer} key=${machine.id} machine=${machine} />`)}</ul><//>`;
}

function Hazards() {
  const open = openHazards();
  return html`<${Section} title="Open hazards" aside=${open.length ? html`<a class="more-link" href="#/air/hazards">${counted(open.length, "hazard")}</a>` : ""}>
    ${open.length ? html`<${HazardList} open=${open.slice(0, HAZARDS)} />` : html`<p class="soft">None is open.</p>`}<//>`;
}

function Exhausts() {
  const rows = exhausts();
  return html`<${Section} title="Exhausts" aside=${html`<a class="more-link" href="#/air/trends">Trends</a>`}>
    ${rows.length ? rows.map(({ machine, gauges }) => html`<div key=${machine.id} class="exhaust"><h3>${machine.name}</h3><ul>${gauges.map((gauge) => html`<li key=${gauge.quantity}><span>${gauge.name} <span class="num">${figure(gauge.value, 3)}</span> ${gauge.unit}</span> <${StateMark} mark=${gauge.mark} word=${gauge.word} /></li>`)}</ul></div>`)
      : html`<p class="soft">No gauge was read yet.</p>`}<//>`;
}

/** "2 lapsed, 1 near its end". @param {import("./people.js").Row[]} rows */
function sayRows(rows) {
  const words = [...new Set(rows.map(({ word }) => word))];
  return words.map((word) => `${rows.filter((row) => row.word === word).length} ${word}`).join(", ");
}

/** What runs out for anybody, and what the person here lacks. */
function Crew() {
  const people = inUse(definitions.value.people);
  const told = people.map((one) => ({ one, rows: rowsOf(state.value.shop.people?.[one.id], one.id, nameOf, crewCalendar()).filter(speaks) })).filter(({ rows }) => rows.length);
  const me = person.value;
  const own = told.find(({ one }) => one.id === me?.id)?.rows ?? [];
  const lacks = me ? inUse(definitions.value.machines).filter(({ id }) => {
    const { asked, current } = signOffOf(state.value.shop.people, me.id, id, crewCalendar());
    return asked && !current;
  }) : [];
  return html`<${Section} title="People and protection" aside=${html`<a class="more-link" href="#/air/people">Everybody</a>`}><${ToldToTheLead} />
    ${lacks.length > 0 && html`<${Notice} title=${`${me?.name}, you have no current sign-off for ${lacks.map(({ name }) => name).join(", ")}`}>Have somebody who is signed off stand beside you, or leave it.<//>`}
    ${own.length > 0 && html`<ul class="lines">${own.map((row) => html`<${StandingRow} key=${row.kind + row.key} row=${row} />`)}</ul>`}
    ${told.filter(({ one }) => one.id !== me?.id).map(({ one, rows }) => html`<a key=${one.id} class="crew-line" href="#/air/people"><b>${one.name}</b> <${StateMark} mark=${markOf(rows[0].word)} word=${sayRows(rows)} /></a>`)}
    ${!told.length && html`<p class="soft">Nothing in the record has run out or soon will.</p>`}<//>`;
}

function Measured() {
  const rows = measuredRows();
  const missing = missingMeasurements();
  const over = rows.filter((/** @type {any} */ row) => row.word === "at or over the limit" || row.word === "over the action level");
  return html`<${Section} title="Measured" aside=${html`<a class="more-link" href="#/air/exposures">Exposures</a>`}>
    ${over.map((/** @type {any} */ row) => html`<p key=${row.entry}><${StateMark} mark=${row.word === "at or over the limit" ? "late" : "due"} word=${`${row.name}: ${row.word}`} /> ${row.person ? nameOf(row.person) : row.place}</p>`)}
    ${!over.length && rows.length > 0 && html`<p>${counted(rows.length, "measurement")} in the record, none at or over a limit or an action level.</p>`}
    ${missing.length > 0 && html`<p><b>Not measured yet:</b> ${missing.map(({ name }) => name).join(", ")}.</p>`}<//>`;
}

export default function Front() {
  return html`<${Page} title="Air & dust"><div class="part-grid"><div class="stack"><${Timers} /><${ButtonLink} big href="#/air/work">Start of work: what it asks<//><${Alloys} /><${Hazards} /></div>
    <div class="stack"><${Section} title="Log"><${FormTiles} /><//><${Exhausts} /><${Measured} /><${Crew} />
      <ul class="lines"><li><a href="#/air/media"><b>Blasting media</b><span class="soft">what each is, and its free silica</span></a></li>
        <li><a href="#/sums/noise"><b>Noise of a day</b><span class="soft">from levels and minutes</span></a></li>
        <li><a href="#/air/rates"><b>Recordable rates</b><span class="soft">for those who must give them</span></a></li></ul></div></div><//>`;
}
