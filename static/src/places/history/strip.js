// The strip itself: a lane for each kind of thing, a mark a day, spans where a tag hung. One day at a time is said in words.
import { html } from "htm/preact";
import { useRef, useState } from "preact/hooks";
import { addDays, dayNumber, shopDate } from "../../core/dates.js";
import { longDay, sayWhen } from "../../kit/index.js";
import { DayKey, DayMark } from "../records/day-grid.js";
import { SAID, happened, placeOf } from "../records/past.js";
import { calendar, world } from "../world.js";

/** @typedef {import("../records/past.js").Happened} Happened */
/** @typedef {{ tag: string, from: string, to: string | null, why: string }} Out */
/** @typedef {{ first: string, last: string, days: number, rounds: string | null, events: Happened[], outs: (Out & { begin: string, end: string })[] }} Shown */

/** The lanes with their marks; a tag is a span. @type {[string, string, import("preact").VNode | null][]} */
const LANES = [
  ["rounds", "Start-up rounds", null],
  ["out", "Out of service", null],
  ["findings", "Findings", html`<path d="M0-4.5L4.5 4h-9z" class="day-fill" />`],
  ["beyond", "Readings beyond limits", html`<path d="M-4.4 1.5L0-3.5l4.4 5M-4.4 4.5L0-.5l4.4 5" class="day-cross" />`],
  ["changes", "Parts and fluids", html`<path d="M0-4.6L4.6 0 0 4.6-4.6 0z" class="day-line" />`],
  ["tasks", "Tasks and other rounds", html`<circle r="3.6" class="day-fill" />`],
];

/** Which lane a thing that happened is drawn in; tags are drawn as spans, and told on their days. @param {Happened} one */
const laneOf = ({ lane }) => (lane === "rounds" ? "tasks" : lane === "tags" ? "out" : lane);

/** @param {any} past @param {any} subject @param {number} days @returns {Shown} */
function shownOf(past, subject, days) {
  const last = past.to;
  const first = [addDays(last, 1 - days), past.from].sort().at(-1) ?? last;
  const count = dayNumber(last) - dayNumber(first) + 1;
  const day = (/** @type {string} */ at) => shopDate(Date.parse(at), past.time_zone);
  const outs = subject.out.map((/** @type {Out} */ out) => ({ ...out, begin: day(out.from), end: out.to ? day(out.to) : last })).filter((/** @type {any} */ { begin, end }) => end >= first && begin <= last);
  return { first, last, days: count, rounds: subject.rounds?.slice(-count) ?? null, events: happened(subject, past.from, first, last), outs };
}

/** @param {Shown} shown @param {string} day */
function dayOf(shown, day) {
  const letter = shown.rounds?.[dayNumber(day) - dayNumber(shown.first)];
  const out = shown.outs.filter(({ begin, end }) => begin <= day && day <= end);
  return { letter, out, events: shown.events.filter((one) => one.day === day) };
}

/** @param {Shown} shown @param {string} day */
function sayIt(shown, day) {
  const { letter, out, events } = dayOf(shown, day);
  const told = [letter && letter !== "-" ? SAID[letter] : "", ...out.map(({ why }) => `tagged: ${why}`), ...events.map(({ text }) => text)].filter(Boolean);
  return `${longDay(day)} ${day.slice(0, 4)}: ${told.join("; ") || "nothing"}`;
}

/** @param {{ lane: string, mark: import("preact").VNode | null, shown: Shown }} props */
function Marks({ lane, mark, shown }) {
  const at = (/** @type {number} */ place) => `left:${(100 * (place + 0.5)) / shown.days}%`;
  if (lane === "out") {
    return shown.outs.map(({ tag, begin, end }) => {
      const place = placeOf(begin, end, shown.first, shown.days);
      return place && html`<i key=${tag} class="strip-span" style=${`left:${place.left}%;width:${place.width}%`}></i>`;
    });
  }
  if (lane === "rounds") {
    // Over many weeks the marks would run into each other: first what was kept becomes a tick, then it is left out.
    const drawn = shown.days > 100 ? "lm" : "dlmo";
    return [...(shown.rounds ?? "")].map((letter, place) => drawn.includes(letter) && (letter === "d" && shown.days > 40
      ? html`<i key=${place} class="strip-tick" style=${at(place)}></i>` : html`<span key=${place} class="strip-mark" style=${at(place)}><${DayMark} letter=${letter} /></span>`));
  }
  const days = new Set(shown.events.filter((one) => laneOf(one) === lane).map(({ day }) => day));
  return [...days].map((day) => html`<span key=${day} class="strip-mark" style=${at(dayNumber(day) - dayNumber(shown.first))}><svg width="16" height="16" viewBox="-6 -6 12 12">${mark}</svg></span>`);
}

/** What happened on the day, each a way to its entry. @param {{ shown: Shown, day: string }} props */
function OfTheDay({ shown, day }) {
  const { events } = dayOf(shown, day);
  if (!events.length) return null;
  return html`<ul class="lines">${events.map(({ entry, text }, place) => html`<li key=${place}><a href=${`#/records/${entry}`}>${text}</a></li>`)}</ul>`;
}

/** @param {{ shown: Shown }} props */
function Table({ shown }) {
  const clock = { zone: calendar.value.zone, now: world.value.now };
  const names = Object.fromEntries(LANES.map(([lane, name]) => [lane, name]));
  const rounds = [...(shown.rounds ?? "")].flatMap((letter, place) => ("lm".includes(letter) ? [{ day: addDays(shown.first, place), what: names.rounds, text: SAID[letter], entry: "" }] : []));
  const events = shown.events.map((one) => ({ day: one.day, what: one.lane === "tags" ? "Tags" : names[laneOf(one)], text: one.text, entry: one.entry }));
  const outs = shown.outs.map(({ tag, from, to, why }) => ({ day: shopDate(Date.parse(from), clock.zone ?? "UTC"), what: names.out, text: `${why}, ${sayWhen(from, clock)} to ${to ? sayWhen(to, clock) : "now"}`, entry: tag }));
  const rows = [...rounds, ...events, ...outs].sort((a, b) => (a.day < b.day ? 1 : -1));
  return html`<details class="chart-table"><summary>As a table</summary><div class="chart-scroll"><table class="words-table"><thead><tr><th scope="col">Day</th><th scope="col">What</th><th scope="col">In words</th></tr></thead>
    <tbody>${rows.map(({ day, what, text, entry }, place) => html`<tr key=${place}><th scope="row">${longDay(day)} ${day.slice(0, 4)}</th><td>${what}</td><td>${entry ? html`<a href=${`#/records/${entry}`}>${text}</a>` : text}</td></tr>`)}</tbody></table></div></details>`;
}

/** @param {{ past: any, subject: any, days: number, name: string }} props */
export function Strip({ past, subject, days, name }) {
  const shown = shownOf(past, subject, days);
  const [at, setAt] = useState(shown.days - 1);
  const lanes = useRef(/** @type {HTMLDivElement | null} */ (null));
  const day = addDays(shown.first, at);
  const busy = () => Array.from({ length: shown.days }, (_, place) => place).filter((place) => {
    const { letter, events } = dayOf(shown, addDays(shown.first, place));
    return events.length > 0 || letter === "l" || letter === "m";
  });
  const move = (/** @type {KeyboardEvent} */ event) => {
    /** @type {Record<string, () => number | undefined>} */
    const ways = { ArrowLeft: () => at - 1, ArrowRight: () => at + 1, Home: () => 0, End: () => shown.days - 1, PageUp: () => busy().filter((place) => place < at).at(-1), PageDown: () => busy().find((place) => place > at) };
    if (!(event.key in ways)) return;
    event.preventDefault();
    const to = ways[event.key]?.() ?? at;
    if (to >= 0 && to < shown.days) setAt(to);
  };
  const touch = (/** @type {PointerEvent} */ event) => {
    const box = lanes.current?.getBoundingClientRect();
    if (!box || (event.type === "pointermove" && !event.buttons)) return;
    const place = Math.floor(((event.clientX - box.left) / box.width) * shown.days);
    if (place >= 0 && place < shown.days) setAt(place);
  };
  return html`<figure class="chart machine-strip"><figcaption>${name}, ${longDay(shown.first)} ${shown.first.slice(0, 4)} to ${longDay(shown.last)} ${shown.last.slice(0, 4)}</figcaption>
    ${shown.rounds !== null && html`<${DayKey} />`}
    <div class="chart-box" ref=${lanes} tabindex="0" role="group" aria-label=${`${name}, day by day. Left and right move by a day, page up and page down to the next thing that happened.`} onKeyDown=${move} onPointerDown=${touch} onPointerMove=${touch}>
      ${LANES.filter(([lane]) => lane !== "rounds" || shown.rounds !== null).map(([lane, text, mark]) => html`<div class="strip-lane" key=${lane}><small>${text}${lane === "rounds" && shown.days > 100 ? ": late and missed alone" : ""}</small><div class="strip-marks" aria-hidden="true"><${Marks} lane=${lane} mark=${mark} shown=${shown} /></div></div>`)}
      <i class="strip-here" style=${`left:${(100 * (at + 0.5)) / shown.days}%`}></i></div>
    <p class="chart-said" aria-live="polite">${sayIt(shown, day)}</p><${OfTheDay} shown=${shown} day=${day} /><${Table} shown=${shown} /></figure>`;
}
