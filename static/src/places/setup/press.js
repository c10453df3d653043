// Something to press that only shows more: it works for readers too, where a disabled fieldset takes every button.
import { html } from "htm/preact";

/** @param {{ look: string, expanded?: boolean, onPress: () => void, children?: import("preact").ComponentChildren }} props */
export function Press({ look, expanded, onPress, children }) {
  const key = (/** @type {KeyboardEvent} */ event) => {
    if (event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    onPress();
  };
  return html`<a class=${look} role="button" tabindex="0" aria-expanded=${expanded} onClick=${onPress} onKeyDown=${key}>${children}</a>`;
}
