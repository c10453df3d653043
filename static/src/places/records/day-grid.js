// A year of days at a glance: a row a month, a mark a day. Every state has its own shape; one day at a time is said in words.
import { html } from "htm/preact";
import { useRef, useState } from "preact/hooks";
import { addMonths } from "../../core/dates.js";
import { longDay } from "../../kit/index.js";
import { byMonth, sayMonth } from "./past.js";

/** @typedef {import("preact").ComponentChildren} Children */
const [CELL, ROW, LEFT] = [10, 13, 30];

/** The shape of a letter, about the middle of its cell. @type {Record<string, import("preact").VNode | null>} */
const SHAPES = {
  d: html`<path d="M-3.4-3.4h6.8v6.8h-6.8z" class="day-fill" />`,
  l: html`<path d="M-3.4-3.4l6.8 6.8h-6.8z" class="day-fill" /><path d="M-3-3h6v6h-6z" class="day-line" />`,
  m: html`<path d="M-3.4-3.4l6.8 6.8M3.4-3.4l-6.8 6.8" class="day-cross" />`,
  ".": html`<circle r="0.8" class="day-soft" />`,
  c: html`<path d="M-2.4 0h4.8" class="day-dash" />`,
  o: html`<path d="M-1.6-3.2v6.4M1.6-3.2v6.4" class="day-dash" />`,
  "-": null,
};

/** @param {{ letter: string }} props */
export const DayMark = ({ letter }) => html`<svg width="18" height="18" viewBox="-5 -5 10 10" class="day-mark" aria-hidden="true">${SHAPES[letter]}</svg>`;

const KEY = [["d", "done"], ["l", "late: after the first use"], ["m", "missed"], [".", "not used"], ["c", "shop closed"], ["o", "out of service"]];

/** What the shapes mean. */
export const DayKey = () => html`<ul class="chart-key">${KEY.map(([letter, text]) => html`<li key=${letter}><${DayMark} letter=${letter} />${text}</li>`)}</ul>`;

/**
 * @param {{ title: string, first: string, letters: string[], say: (at: number) => string, more?: (at: number, day: string) => Children }} props
 *   `first`: the first letter's day; `say`: a day in words; `more`: what stands below it, a way on
 */
export function DayGrid({ title, first, letters, say, more }) {
  const months = byMonth(first, letters.length);
  const days = months.flatMap((month) => month.days);
  const [at, setAt] = useState(letters.length - 1);
  const drawing = useRef(/** @type {SVGSVGElement | null} */ (null));
  const here = days[Math.min(at, days.length - 1)];
  const toDay = (/** @type {string} */ day) => days.findIndex((one) => one.day === day);
  const move = (/** @type {KeyboardEvent} */ event) => {
    /** @type {Record<string, () => number>} */
    const ways = { ArrowLeft: () => at - 1, ArrowRight: () => at + 1, ArrowUp: () => toDay(addMonths(here.day, -1)), ArrowDown: () => toDay(addMonths(here.day, 1)), Home: () => 0, End: () => days.length - 1 };
    const to = ways[event.key]?.();
    if (to === undefined) return;
    event.preventDefault();
    if (to >= 0 && to < days.length) setAt(to);
  };
  const touch = (/** @type {PointerEvent} */ event) => {
    const box = drawing.current?.getBoundingClientRect();
    if (!box || (event.type === "pointermove" && !event.buttons)) return;
    const scale = (LEFT + 31 * CELL) / box.width;
    const month = months[Math.floor(((event.clientY - box.top) * scale) / ROW)];
    const dated = Math.floor(((event.clientX - box.left) * scale - LEFT) / CELL) + 1;
    const found = month?.days.find(({ day }) => Number(day.slice(8)) === dated);
    if (found) setAt(found.at);
  };
  if (!here) return null;
  return html`<figure class="chart day-grid"><figcaption>${title}, ${sayMonth(first.slice(0, 7))} to ${sayMonth(months[months.length - 1].month)}</figcaption><${DayKey} />
    <div class="chart-box" tabindex="0" role="group" aria-label=${`${title}. Left and right move by a day, up and down by a month.`} onKeyDown=${move} onPointerDown=${touch} onPointerMove=${touch}>
      <svg ref=${drawing} viewBox=${`0 0 ${LEFT + 31 * CELL} ${months.length * ROW}`} aria-hidden="true">${months.map(({ month, days: own }, row) => html`<g key=${month} transform=${`translate(0 ${row * ROW})`}>
        <text x="2" y="9.4" class="day-month">${sayMonth(month).slice(0, 3)}</text>
        ${own.map(({ day, at: place }) => html`<g key=${day} transform=${`translate(${LEFT + (Number(day.slice(8)) - 0.5) * CELL} ${ROW / 2})`}>${SHAPES[letters[place] ?? "-"]}${place === here.at && html`<rect x="-5" y="-6.2" width="10" height="12.4" class="day-here" />`}</g>`)}</g>`)}</svg></div>
    <p class="chart-said" aria-live="polite">${longDay(here.day)} ${here.day.slice(0, 4)}: ${say(here.at)}</p>${more?.(here.at, here.day)}</figure>`;
}
