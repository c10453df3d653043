// The caution panel: signal word and colour by ANSI Z535, and nowhere else in the look.
import { html } from "htm/preact";
import { Icon } from "./icons.js";

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
 * @param {{ signal?: Signal, text: string, title?: string, hazard?: string, children?: import("preact").ComponentChildren }} props
 *   `hazard` names the drawing: eye, hand, lung, ear, drop, blade
 */
export function Caution({ signal = "caution", text, title, hazard, children }) {
  const body = text.replace(DEFERENCE, "").trim();
  return html`<aside class=${`caution caution-${signal}`} role="note" aria-label=${`${signal.toUpperCase()}. ${title ?? ""}`}>
    <div class="caution-word">${signal !== "notice" && html`<${Alert} />`}<b>${signal.toUpperCase()}</b>
      ${hazard && html`<span class="caution-hazard"><${Icon} name=${hazard} size=${26} /></span>`}</div>
    <div class="caution-text">${title && html`<b>${title}</b>`}<p>${body} <span class="caution-end">${DEFERENCE}</span></p>${children}</div>
  </aside>`;
}
