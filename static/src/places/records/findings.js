// Open findings of all machines by age, the oldest first: from this phone's own state, unsent ones among them.
import { html } from "htm/preact";
import { Empty, Page, Section, StateMark, counted, figure, sayWhen } from "../../kit/index.js";
import { state } from "../../store/index.js";
import { initialsOf, nameOf } from "../names.js";
import { calendar, world } from "../world.js";
import { usePast } from "./kept.js";
import { openFindings } from "./past.js";

/** From which age on, in days, with its words; the oldest first. @type {[number, string][]} */
const AGES = [[90, "Over three months"], [28, "Four weeks to three months"], [7, "One to four weeks"], [0, "This last week"]];

/** @param {{ found: import("./past.js").Open }} props */
function FindingRow({ found }) {
  const { id, machine, text, stop, at, by, days } = found;
  const since = days < 1 ? "since less than a day" : `for ${counted(Math.floor(days), "day")}`;
  return html`<li class="found"><a href=${`#/finding/${machine ?? "shop"}/${id}`}><${StateMark} mark=${stop ? "stop" : "due"} word=${text} /></a>
    <p class="soft">${machine ? nameOf(machine) : "The shop"}${stop ? ", which must not start" : ""}. Open ${since}: ${sayWhen(at, { zone: calendar.value.zone, now: world.value.now })}, ${initialsOf(by)}.${" "}<a href=${`#/records?finding=${id}`} aria-label=${`All that belongs to: ${text}`}>All that belongs to it</a></p></li>`;
}

export default function FindingsPage() {
  const past = usePast();
  const open = openFindings(state.value, world.value.now);
  const right = past?.put_right;
  const stops = open.filter(({ stop }) => stop).length;
  return html`<${Page} title="Open findings" back="#/records">
    <p class="told">${open.length ? `${counted(open.length, "finding")} open${stops ? `; ${counted(stops, "of them stops its machine", "of them stop their machines")}` : ""}.` : "Nothing is open."}</p>
    ${open.length === 0 && html`<${Empty}>What is found wrong stands here until it is put right.<//>`}
    ${AGES.map(([from, title], index) => {
      const own = open.filter(({ days }) => days >= from && days < (AGES[index - 1]?.[0] ?? Infinity));
      return own.length > 0 && html`<${Section} key=${title} title=${title}><ul class="found-list">${own.map((found) => html`<${FindingRow} key=${found.id} found=${found} />`)}</ul><//>`;
    })}
    ${right?.times > 0 && html`<p class="soft">Put right in the last 53 weeks: ${figure(right.times, 0)}. Half of them were open for less than ${figure(right.median_days, 1)} days, the longest for ${figure(right.longest_days, 1)}.</p>`}<//>`;
}
