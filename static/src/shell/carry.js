// The carry line: what this phone carries that the server does not have yet, and whether it can be sent.
import { html } from "htm/preact";
import { Icon } from "../kit/icons.js";
import { counted } from "../kit/numbers.js";
import { arriving } from "../places/setup/arriving.js";
import { clock, gaps, left, link, lost, photos, storage, tray, unsent } from "../store/index.js";
import { early } from "./early.js";

/** @type {Record<string, string>} */
const SAID = {
  "no signal": "No signal",
  "sign in again": "Signed out",
  "app too old": "This app is too old for the server",
  "server trouble": "The server has trouble",
};

/** "3 entries kept on this phone". @param {number} entries @param {number} pictures */
function carried(entries, pictures) {
  const parts = [
    entries > 0 && html`<b class="num">${entries}</b> ${entries === 1 ? "entry" : "entries"}`,
    pictures > 0 && html`${entries > 0 && " and "}<b class="num">${pictures}</b> ${pictures === 1 ? "photo" : "photos"}`,
  ].filter(Boolean);
  return parts.length ? html`${parts} kept on this phone` : null;
}

/** What else must be known: each with the way to mend it. @returns {{ key: string, text: string, href: string }[]} */
function troubles() {
  const found = [
    tray.value.length > 0 && { key: "tray", text: `${counted(tray.value.length, "entry", "entries")} refused: look`, href: "#/phone" },
    left.value > 0 && { key: "left", text: "Something unsent is left here from before: look", href: "#/setup/storage" },
    (gaps.value.length > 0 || lost.value) && { key: "gaps", text: "Something from this phone was lost: look", href: "#/phone" },
    storage.value && storage.value !== "kept" && storage.value !== "may be cleared" && { key: "storage", text: storage.value, href: "#/phone" },
    clock.value !== 0 && { key: "clock", text: `This phone's clock is ${counted(Math.round(Math.abs(clock.value) / 60_000), "minute")} ${clock.value > 0 ? "slow" : "fast"}: set it`, href: "#/phone" },
  ];
  return /** @type {any} */ (found.filter(Boolean));
}

export function Carry() {
  // While a browser is on its way in, and at the start of a page, there is no word from the server yet.
  const unknown = link.value === "no signal" && (early.value || arriving.value);
  const away = link.value !== "here" && !unknown;
  const kept = carried(unsent.value, photos.value.length);
  const wrong = troubles();
  if (!away && !kept && !wrong.length) return null;
  return html`<div class="carry" role="status">
    ${(away || kept) && html`<${Icon} name=${away ? "nosignal" : "signal"} size=${22} /><a class="carry-line" href="#/phone">${SAID[link.value] ?? "Sending"}${kept && html` · ${kept}`}</a>`}
    ${link.value === "sign in again" && html`<a href="#/signin">Sign in again</a>`}
    ${wrong.map(({ key, text, href }) => html`<a key=${key} href=${href}>${text}</a>`)}
  </div>`;
}
