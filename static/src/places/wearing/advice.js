// What to do about a wearing part: break-in, the age of least cost, whether lives change, groups of lives, the drawer.
import { html } from "htm/preact";
import { Facts, Section, StateMark, dayIn, figure } from "../../kit/index.js";
import { plainDay } from "../ahead/words.js";
import { sayPieces } from "../orders.js";
import { calendar } from "../world.js";
import { groupsOf, rough, sayLasts, withRange } from "./points.js";

/** @type {Record<string, import("../../kit/state.js").Mark>} */
const BREAK_IN_MARKS = { "breaking in": "near", "to be ended": "due", over: "fit" };

/** @param {{ rows: any[] }} props */
export function BreakIn({ rows }) {
  if (!rows.length) return null;
  return html`<ul class="break-in">${rows.map(({ task, name, state, say, source, at, unit }) => html`<li key=${task}><${StateMark} mark=${BREAK_IN_MARKS[state] ?? "resting"} word=${`${name}: ${state}`} />
    <p>${say}</p><p class="soft">At ${at.map((/** @type {number} */ mark) => figure(mark)).join(", ")} ${unit} after the change. ${source}</p></li>`)}</ul>`;
}

/** @param {{ found: any, at: string }} props `at`: the machine */
export function Advice({ at, found: { replacement, unit, fit, listed } }) {
  if (!replacement) {
    return listed.ended > 0 && html`<${Section} title="When to change it"><p class="soft">No advice yet: without a curve of its lives nobody can say at what age a change is cheapest.</p><//>`;
  }
  return html`<${Section} title="When to change it" area="advice"><p class="recipe">${replacement.say}</p>
    ${replacement.planned_cost === undefined ? html`<p><a href=${`#/setup/machines/${at}`}>Give them in Set-up</a></p>`
      : html`<${Costs} replacement=${replacement} unit=${unit} lives=${fit.failed + fit.censored} />`}<//>`;
}

/** What the advice was worked out from, and how far it may move. @param {{ replacement: any, unit: string, lives: number }} props */
function Costs({ replacement, unit, lives }) {
  const { age, age_range: range, planned_cost: planned, unplanned_cost: unplanned, saving, unplanned_share: fails, level } = replacement;
  const open = range[1] === null ? ": with some shapes that the lives allow, running it to the end is cheaper" : "";
  const best = age === null ? [] : [
    ["Age of least cost", html`<span class="num">${withRange(age, range)}</span> ${unit}`],
    ["Saves, against running to the end", html`<span class="num">${figure(saving * 100, 0)}</span> %`],
    ["Still fail before that age", html`<span class="num">${figure(fails * 100, 0)}</span> %`],
  ];
  return html`<${Facts} rows=${[
    ["A change that was planned costs", html`<span class="num">${figure(planned)}</span>`],
    ["One that was not", html`<span class="num">${figure(unplanned)}</span>`], ...best]} />
    <p class="soft">Costs are in the shop's own money, as set up for the part; with them goes the curve of ${figure(lives)} lives.
      ${age !== null && ` The age's range is at ${Math.round(level * 100)} %${open}.`}</p>`;
}

/** @param {{ found: any }} props */
export function Trend({ found: { trend, listed } }) {
  if (!trend) {
    return listed.ended > 0 && html`<${Section} title="Shorter or longer"><p class="soft">Too few failures yet to see whether lives grow shorter.</p><//>`;
  }
  return html`<${Section} title="Shorter or longer" area="trend"><p>${trend.say}</p>
    <p class="soft">Of ${figure(trend.pairs)} pairs of lives that ended worn or broken, the later one was the longer in ${figure(trend.reversals)}:
      chance alone is at least as lopsided that way ${figure(trend.chance * 100, 0)} times in a hundred.</p><//>`;
}

const GROUPS = [["by_grade", "By maker's grade"], ["by_material", "By alloy"], ["by_edge", "New and re-ground"]];

/** @param {{ found: any }} props */
export function Groups({ found }) {
  const groups = GROUPS.filter(([key]) => Object.keys(found[key]).length > 0);
  if (!groups.length) {
    return found.listed.ended > 1 && html`<${Section} title="By grade and material"><p class="soft">Lives can be set side by side once two grades, materials or edges are noted with the changes.</p><//>`;
  }
  return groups.map(([key, title]) => html`<${Section} key=${key} title=${title} area="group"><${Compared} studies=${found[key]} unit=${found.unit} level=${found.listed.level} /><//>`);
}

/** @param {{ studies: any, unit: string, level: number }} props */
function Compared({ studies, unit, level }) {
  const { rows, top } = groupsOf(studies, unit);
  return html`<div class="group-axis soft" aria-hidden="true"><span>0</span><span>${rough(top)} ${unit}</span></div>
    <ul class="ahead">${rows.map(({ name, said, typical, start, width, mark, sure }) => html`<li key=${name}><p class="group-head"><b>${name}</b><span class="num">${typical}</span></p>
      <span class="ahead-track" aria-hidden="true">${sure && html`<i class="ahead-range" style=${`left:${start}%;width:${width}%`} />`}${mark !== null && html`<i class=${sure ? "ahead-likely" : "ahead-date"} style=${`left:${mark}%`} />`}</span>
      <p class="ahead-rests soft">${said}</p></li>`)}</ul>
    <p class="soft">The stroke is the age that half of them reach by their curve, the bar its range at ${Math.round(level * 100)} %; a diamond is the
      middle one of a list too short for a curve. Where bars overlap, chance alone may be the difference.</p>`;
}

/** @param {{ stock: any }} props */
export function Drawer({ stock }) {
  const { today, zone } = calendar.value;
  if (!stock) return html`<${Section} title="Spares"><p class="soft">No item of the drawer is named for this part: name one in Set-up, and what is left and when to order stands here.</p><//>`;
  const { use } = stock;
  const lasts = sayLasts(stock.lasts, today);
  return html`<${Section} title="Spares" area="stock" aside=${html`<a href=${`#/log/stock?item=${stock.item}`}>Count or order</a>`}>
    ${stock.order_now && html`<p><${StateMark} mark="due" word="Time to order" /></p>`}
    <${Facts} rows=${[
      [stock.name, stock.count === null ? "never counted" : html`${sayPieces(stock.count, stock.unit)}${stock.counted_at ? html` <span class="soft">counted ${plainDay(dayIn(new Date(stock.counted_at), zone), today)}</span>` : ""}`],
      ...(stock.ordered ? [["On order", `${sayPieces(stock.ordered.count, stock.unit)}${stock.ordered.expected ? `, expected ${plainDay(stock.ordered.expected, today)}` : ""}`]] : []),
      ["Used", html`<span class="num">${figure(use.pieces)}</span> in ${figure(use.days, 0)} days: ${figure(use.a_week, 2)} a week (${figure(use.a_week_range[0], 2)} to ${figure(use.a_week_range[1], 2)})`],
      ...(lasts ? [["Lasts", lasts]] : []),
      ["Order at", stock.reorder_point === null ? html`<span class="num">${figure(stock.reorder_at)}</span>, the owner's figure`
        : html`<span class="num">${figure(stock.reorder_point)}</span>, to be ${figure(stock.service * 100, 0)} % sure over ${figure(stock.lead_days)} days of delivery (the owner's figure: ${figure(stock.reorder_at)})`],
    ]} />
    ${stock.said.map((/** @type {string} */ line) => html`<p class="soft" key=${line}>${line}</p>`)}<//>`;
}
