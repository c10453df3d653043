// What is left of a purge, large enough to be read across the bay.
import { html } from "htm/preact";
import { StateMark, capital } from "../../kit/index.js";
import { BLASTING, NO_EXHAUST, OVER } from "../../core/purge.js";
import { leftOf } from "./purge-copies.js";

/** "2:05" @param {number} seconds */
export const sayClock = (seconds) => `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;

/** What stands over the figure, and whether the door is held. @param {any} kept @returns {{ held: boolean, word: string, say: string }} */
export function sayPurge(kept) {
  if (!kept) return { held: false, word: "no purge runs on this phone", say: "This long after blasting the door stays shut, the exhaust on." };
  const phase = kept.purge?.phase;
  if (!phase) return { held: true, word: "keep the door shut", say: "What was kept of the purge cannot be read. Start the purge anew." };
  if (phase === OVER) return { held: false, word: "the purge time is over", say: "Exhaust still on: look through the window, and open only when the air inside is clear." };
  if (phase === BLASTING) return { held: true, word: "keep the door shut", say: "Blasting. The wait begins when it has stopped." };
  if (phase === NO_EXHAUST) return { held: true, word: "keep the door shut", say: "The exhaust is off: nothing clears, and the wait begins anew when it runs again." };
  return { held: true, word: "keep the door shut", say: "The exhaust stays on. It counts on with the screen locked." };
}

/** @param {{ kept: any, seconds?: number | null }} props `seconds`: the wait that would begin now */
export function Countdown({ kept, seconds = null }) {
  const { held, word, say } = sayPurge(kept);
  const left = leftOf(kept) ?? (kept?.purge ? kept.purge.seconds : seconds);
  const over = kept?.purge?.phase === OVER;
  const shown = kept && !over && left !== null ? sayClock(left) : over ? "0:00" : seconds === null ? "–:––" : sayClock(seconds);
  const part = kept?.purge && !over ? Math.min(1, kept.purge.counted / (kept.purge.seconds * 1000)) : over ? 1 : 0;
  return html`<div class=${`countdown${held ? " countdown-held" : ""}`}>
    <div role="status"><${StateMark} mark=${held ? "stop" : over ? "fit" : "resting"} word=${capital(word)} size=${30} /></div>
    <p class="countdown-figure num" role="timer" aria-label="Left to wait">${shown}</p>
    <div class="countdown-bar" aria-hidden="true"><i style=${`width:${(part * 100).toFixed(1)}%`}></i></div>
    <p>${say}</p></div>`;
}
