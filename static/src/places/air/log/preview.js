// What typed samples come to, before they are kept: bars against the shop's own limits and the strictest, as they will stand.
import { html } from "htm/preact";
import { StateMark } from "../../../kit/index.js";
import { beside } from "../../../core/measured.js";
import { markOfWord } from "../bars.js";
import { libraryOf, rowOfBody } from "../measured-rows.js";
import { ShareBars } from "../share-bars.js";

/** @param {{ body: any, cards: any, authorities: string[], today: string }} props */
export function Preview({ body, cards, authorities, today }) {
  if (!body) return html`<p class="sum-wait">Fill in the samples: what they come to stands here, beside the limits that the shop goes by.</p>`;
  const { key, row } = rowOfBody(body, today);
  const found = beside(key, row, libraryOf(cards, authorities), today, today);
  return html`<div class="sum-answer"><div role="status"><p><${StateMark} mark=${markOfWord(found.word)} word=${found.word} /> ${found.say}</p></div>
    <${ShareBars} row=${found} cards=${cards} /></div>`;
}
