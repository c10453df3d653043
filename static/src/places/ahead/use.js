// How a meter is used by day of the week, in one small line.
import { html } from "htm/preact";
import { shortFigure } from "../../kit/index.js";
import { heightsOf } from "./bars.js";
import { sayWeek } from "./words.js";

/** @param {{ used: { weekdays: import("./words.js").Weekday[], unit: string, a_week: number | null, say: string } | null }} props */
export function WeekOfUse({ used }) {
  if (!used) return null;
  if (!used.a_week) return html`<p class="use-said soft">${used.say}</p>`;
  const heights = heightsOf(used.weekdays);
  return html`<div class="use"><div class="use-days" role="img" aria-label=${sayWeek(used.weekdays, used.unit)}>${used.weekdays.map(({ day, mean }, index) => html`<span key=${day}>
      <span class="use-bar"><i style=${`height:${heights[index]}%`}></i></span><b class="num">${mean > 0 ? shortFigure(mean) : "–"}</b><small>${day}</small></span>`)}</div>
    <p class="use-said soft">${used.say}</p></div>`;
}
