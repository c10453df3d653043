// How to put the app on the home screen, in general words: the menus are called differently on each phone.
import { html } from "htm/preact";
import { Section } from "../../kit/index.js";

/** Opened from the home screen already. */
export const installed = () => matchMedia("(display-mode: standalone)").matches;

export function InstallHint() {
  if (installed()) return null;
  return html`<${Section} title="Put it on the home screen"><p>From there it opens like any app, also where there is no signal, and the phone is less likely to clear what it keeps.</p>
    <ol class="steps"><li>On an iPhone or iPad: press the share button (a square with an arrow up), then Add to Home Screen.</li>
      <li>On other phones: open the browser's menu (three dots or lines), then Install or Add to Home screen.</li>
      <li>On a desk computer: look for the install mark at the end of the address bar, or in the browser's menu.</li></ol><//>`;
}
