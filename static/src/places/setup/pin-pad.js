// The PIN pad: ten big keys, and the keyboard where there is one.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { Button } from "../../kit/index.js";

const LONGEST = 8;
const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];

/** @param {{ name: string, onPin: (pin: string) => Promise<boolean>, onBack: () => void }} props `onPin` says whether it was right */
export function PinPad({ name, onPin, onBack }) {
  const [pin, setPin] = useState("");
  const [said, setSaid] = useState(/** @type {string | null} */ (null));
  const field = useRef(/** @type {HTMLInputElement | null} */ (null));
  useEffect(() => field.current?.focus({ preventScroll: true }), []);
  /** @param {string} text */
  const type = (text) => {
    setSaid(null);
    setPin(text.replace(/\D/g, "").slice(0, LONGEST));
  };
  const send = async () => {
    if (!pin) return setSaid("The PIN is empty. Type it, then press Enter.");
    try {
      if (await onPin(pin)) return undefined;
      setSaid("That is not the PIN. Try again; the owner can set a new one.");
    } catch (error) {
      setSaid(error instanceof Error ? error.message : String(error));
    }
    return setPin("");
  };
  /** @param {Event} event */
  const submit = (event) => {
    event.preventDefault();
    void send();
  };
  const key = (/** @type {string} */ digit) => html`<button key=${digit} type="button" class="button line" onClick=${() => type(pin + digit)}>${digit}</button>`;
  return html`<form class="pin-pad" onSubmit=${submit}>
    <label class="pin-field"><b>PIN of ${name}</b><input ref=${field} class="num" type="password" inputmode="none" autocomplete="off" value=${pin}
      aria-invalid=${said ? "true" : undefined} onInput=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => type(e.currentTarget.value)} /></label>
    ${said && html`<p class="field-error" role="alert">${said}</p>`}
    <div class="pin-keys">${KEYS.map(key)}<button type="button" class="button line" onClick=${() => type(pin.slice(0, -1))}>Rub out</button>
      ${key("0")}<${Button}>Enter<//></div>
    <div class="row"><${Button} plain onPress=${onBack}>Somebody else<//></div></form>`;
}
