// Limits in print, as a list that a phone can show: the shop's own first, the strictest of all beside them.
import { html } from "htm/preact";
import { Section, StateMark } from "../../kit/index.js";

/** @typedef {import("./limits.js").LimitGroup} LimitGroup */

/** @param {{ row: import("./limits.js").LimitRow }} props */
function Limit({ row }) {
  const marks = [row.chosen && !row.coming && "the shop goes by it", row.strictest && "strictest in the library", row.coming && "not in force yet"].filter(Boolean).join(", ");
  return html`<li class="limit"><div class="limit-head"><b class="num">${row.said}</b><span>${row.time}</span></div>
    ${marks && html`<p><${StateMark} mark=${row.coming ? "near" : row.chosen ? "due" : "resting"} word=${marks} /></p>`}
    <p>${row.who}: ${row.word}, ${row.law ? "law there" : "advice, no law"}; ${row.fraction}${row.note ? `; ${row.note}` : ""}.</p>
    <p class="soft">Source: ${row.source}${row.caveat && html` <b>(${row.caveat})</b>`}</p></li>`;
}

/** @param {{ groups: LimitGroup[], title?: string }} props */
export function LimitGroups({ groups, title = "Limits in print" }) {
  if (!groups.length) return null;
  return html`<${Section} title=${title}>${groups.map(({ substance, form, name, what, rows, silent }) => html`<details class="more" key=${substance + form}>
      <summary><b>${name}</b><span class="soft">${what}${rows[0] ? ` · ${rows[0].said}${rows[0].caveat ? ", to be confirmed" : ""}` : ""}</span></summary>
      <ul class="limits">${rows.map((row) => html`<${Limit} key=${row.who + row.time + row.fraction + row.said} row=${row} />`)}</ul>
      ${silent.length > 0 && html`<p class="soft">No limit for this in the library: ${silent.join(", ")}. That says nothing about the dust.</p>`}</details>`)}
    <p class="soft">A figure in print is no line between harm and no harm. Only what was measured can be held against it.</p><//>`;
}
