// Says that a newer version waits; nothing is swapped under somebody's hands.
import { html } from "htm/preact";
import { Button } from "../kit/forms.js";
import { applyUpdate, updateReady } from "../store/index.js";

export function Banner() {
  if (!updateReady.value) return null;
  return html`<div class="banner" role="status"><span>A new version is ready. What you have begun is kept.</span>
    <${Button} line onPress=${applyUpdate}>Use it now<//></div>`;
}
