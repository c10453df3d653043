// State marks: a shape and a word; colour adds nothing that these two do not say.
import { html } from "htm/preact";

/** @typedef {"resting" | "near" | "due" | "late" | "tagged" | "fit" | "stop"} Mark */

/** @type {Record<Mark, import("preact").VNode>} */
const SHAPES = {
  resting: html`<circle cx="9" cy="9" r="6.5" fill="none" stroke="currentColor" stroke-width="2" />`,
  near: html`<circle cx="9" cy="9" r="6.5" fill="none" stroke="currentColor" stroke-width="2" /><path
    d="M9 2.5a6.5 6.5 0 0 1 0 13z" fill="currentColor" />`,
  due: html`<circle cx="9" cy="9" r="7.5" fill="currentColor" />`,
  late: html`<path d="M9 0l9 9-9 9-9-9z" fill="currentColor" />`,
  tagged: html`<path d="M1 2h10l6 6v8H1zM4 9a2 2 0 1 0 4 0a2 2 0 1 0-4 0" fill="currentColor" fill-rule="evenodd" />`,
  fit: html`<path d="M2 2h14v14H2zM5 9l3 3 5-6" fill="none" stroke="currentColor" stroke-width="2" />`,
  stop: html`<path d="M5.5 0.5h7l5 5v7l-5 5h-7l-5-5v-7zM4 8v2h10V8z" fill="currentColor" fill-rule="evenodd" />`,
};

/** How a state is said when nothing better is known. @type {Record<Mark, string>} */
const WORDS = {
  resting: "resting",
  near: "near",
  due: "due",
  late: "late",
  tagged: "tagged out",
  fit: "fit to start",
  stop: "must not start",
};

/** From the one that matters most to the one that matters least. @type {Mark[]} */
const ORDER = ["late", "tagged", "stop", "due", "near", "fit", "resting"];

/** Place of a state in lists: lower comes first. @param {string} mark */
export function rankOf(mark) {
  const found = ORDER.indexOf(/** @type {Mark} */ (mark));
  return found < 0 ? ORDER.length : found;
}

/**
 * A state's mark with its word.
 * @param {{ mark: Mark, word?: string, size?: number }} props
 */
export function StateMark({ mark, word, size = 18 }) {
  return html`<span class="state state-${mark}"><svg width=${size} height=${size} viewBox="0 0 18 18"
    aria-hidden="true">${SHAPES[mark]}</svg><span>${word ?? WORDS[mark]}</span></span>`;
}
