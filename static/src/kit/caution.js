// The caution panel: signal word and colour by ANSI Z535, and nowhere else in the look.
import { html } from "htm/preact";

/** Every caution ends with this line, word for word. */
export const DEFERENCE =
  "The machine's manual, the safety data sheet, local codes and a licensed or competent person come first.";

/** @typedef {"danger" | "warning" | "caution" | "notice"} Signal */

/** The alert symbol goes with the three words that speak of injury, not with NOTICE (ANSI Z535.4). */
function Alert() {
  return html`<svg width="30" height="27" viewBox="0 0 30 27" aria-hidden="true"><path class="alert-face" d="M15 1l14 25H1z" /><path
    class="alert-mark" d="M13.3 9h3.4l-.6 9h-2.2zM13.4 20h3.2v3h-3.2z" /></svg>`;
}

/**
 * A caution where the work is started. `text` without its closing line gets it; one that has it is left.
 * @param {{ signal?: Signal, text: string, children?: import("preact").ComponentChildren }} props
 */
export function Caution({ signal = "caution", text, children }) {
  const body = text.replace(DEFERENCE, "").trim();
  return html`<aside class="caution caution-${signal}" role="note" aria-label=${`${signal}: ${body}`}>
    <div class="caution-word">${signal !== "notice" && html`<${Alert} />`}<b>${signal.toUpperCase()}</b></div>
    <div class="caution-text"><p>${body}</p>${children}<p class="caution-end">${DEFERENCE}</p></div>
  </aside>`;
}
