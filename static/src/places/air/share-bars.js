// Exposure bars on a screen: who sets the limit, how far the measurement reaches toward it, and where the figure is from.
import { html } from "htm/preact";
import { StateMark, capital } from "../../kit/index.js";
import { barsOf, markOfWord } from "./bars.js";
import { sourceOf } from "./work.js";

/** @param {{ bar: import("./bars.js").Bar }} props */
function ShareBar({ bar }) {
  return html`<li class=${`share${bar.own ? "" : " share-other"}`}><p><b>${bar.who}</b> <${StateMark} mark=${markOfWord(bar.word)} word=${bar.word} /></p>
    <div class="share-track" aria-hidden="true"><i class=${bar.beyond ? "share-fill share-beyond" : "share-fill"} style=${`width:${bar.width.toFixed(1)}%`}></i><i class="share-limit" style=${`left:${bar.mark.toFixed(1)}%`}></i></div>
    <p>${capital(bar.said)}</p></li>`;
}

/** @param {{ row: any, cards: any }} props `row`: a measurement beside limits */
export function ShareBars({ row, cards }) {
  const bars = barsOf(row, cards);
  if (!bars.length) return null;
  const sources = [...new Set(bars.map(({ source }) => source))].map((key) => sourceOf(cards, key));
  return html`<ul class="shares">${bars.map((bar) => html`<${ShareBar} key=${bar.who + bar.said} bar=${bar} />`)}</ul>
    <details class="more"><summary><b>Where the limits are from</b>${sources.some(({ caveat }) => caveat) && html`<span class="soft">some to be confirmed</span>`}</summary>
      <ul>${sources.map(({ text, caveat }) => html`<li key=${text} class="soft">${text}${caveat && html` <b>(${caveat})</b>`}</li>`)}</ul></details>`;
}
