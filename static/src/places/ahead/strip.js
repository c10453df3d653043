// The weeks ahead on Today: on a phone one line that leads to them, on a desk the weeks beside it.
import { html } from "htm/preact";
import { calendar } from "../world.js";
import { peopleOf, piecesOf } from "./bars.js";
import { ShortKey, WeekBar, weeksAhead } from "./workload.js";
import { plainDay, sayMinutes } from "./words.js";

export default function AheadStrip() {
  const weeks = weeksAhead();
  const { today } = calendar.value;
  const pieces = piecesOf(weeks);
  const order = peopleOf(weeks);
  return html`<a class="strip" href="#/ahead"><b>Weeks ahead</b><span class="strip-short soft">${weeks[0] ? `${sayMinutes(weeks[0].minutes)} this week` : "not worked out yet"}</span>
    ${weeks.map(({ week, minutes }, index) => html`<span class="strip-week" key=${week} aria-hidden="true"><span>${index === 0 ? "this week" : plainDay(week, today)}</span>
      <span class="num">${sayMinutes(minutes)}</span><${WeekBar} pieces=${pieces[index] ?? []} order=${order} slim /></span>`)}
    <${ShortKey} order=${order} /></a>`;
}
