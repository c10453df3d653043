// The frame of every page of set-up: where to go, who may change it, and what to do without the server.
import { html } from "htm/preact";
import { Notice, Page } from "../../kit/index.js";
import { link, session } from "../../store/index.js";

/** @typedef {import("preact").ComponentChildren} Children */

/** The pages of set-up: address, name, what is there. @type {[string, string, string][]} */
export const PAGES = [
  ["shop", "Shop", "Name, time zone, units, hours a week, holidays"],
  ["bays", "Bays", "The places in the shop"],
  ["machines", "Machines", "Meters, wearing parts, fluids"],
  ["tasks", "Tasks", "What falls due, and by which rule"],
  ["checklists", "Checklists", "The checks of each round"],
  ["people", "People", "Names, initials, PINs"],
  ["items", "Drawer", "Spares and when to order them"],
  ["devices", "Devices", "Phones and browsers that may come in"],
  ["storage", "This device", "What it keeps, and its look"],
  ["about", "About", "What Wayround is, and its version"],
];

/** Why nothing can be changed now, or null when it can. @returns {"no server" | "not the owner" | null} */
export function hindrance() {
  if (link.value !== "here") return "no server";
  return session.value.owner ? null : "not the owner";
}

/** @param {{ here: string }} props the address to come back to */
function Hindered({ here }) {
  const why = hindrance();
  if (why === "no server") {
    return html`<${Notice} live title="Set-up needs the server, and there is no answer from it now.">Below is what this phone keeps, to read.
      Rounds and the log go on without it.<//>`;
  }
  if (why) return html`<${Notice} live title="Only the owner changes set-up."><a href=${`#/signin?to=${encodeURIComponent(here)}`}>Sign in as owner</a> on this device; until then it is here to read.<//>`;
  return null;
}

/** @param {{ on: string }} props */
function Menu({ on }) {
  return html`<nav class="setup-menu" aria-label="Set-up"><ul>${PAGES.map(([path, name]) => html`<li key=${path}>
    <a href=${`#/setup/${path}`} aria-current=${path === on ? "page" : undefined}>${name}</a></li>`)}</ul></nav>`;
}

/**
 * @param {{ title: string, on: string, here?: string, back?: string, aside?: Children, foot?: Children, open?: boolean, children?: Children }} props
 *   `on`: the page of set-up it belongs to; `here`: its address; `open`: for everybody, with or without the server
 */
export function SetupPage({ title, on, here = `setup/${on}`, back = "#/setup", aside, foot, open, children }) {
  return html`<${Page} title=${title} back=${back} aside=${aside} foot=${foot}><div class="setup">
    <${Menu} on=${on} /><div class="setup-main">${!open && html`<${Hindered} here=${here} />`}${children}</div></div><//>`;
}

/** Controls that go grey while nothing can be changed. @param {{ children?: Children }} props */
export function Changeable({ children }) {
  return html`<fieldset class="bare" disabled=${hindrance() !== null}>${children}</fieldset>`;
}
