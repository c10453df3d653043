// The frame of every page of set-up: where to go, who may change it, and what to do without the server.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Notice, Page } from "../../kit/index.js";
import { link, session } from "../../store/index.js";
import { early } from "../../shell/early.js";
import { done } from "./done.js";
import { OwnerHere } from "./owner-here.js";

/** @typedef {import("preact").ComponentChildren} Children */

/** The pages of set-up: address, name, what is there. @type {[string, string, string][]} */
export const PAGES = [
  ["shop", "Shop", "Name, time zone, units, shifts, holidays, reminders"],
  ["bays", "Bays", "The places in the shop"],
  ["machines", "Machines", "Meters, wearing parts, fluids"],
  ["tasks", "Tasks", "What falls due, and by which rule"],
  ["checklists", "Checklists", "The checks of each round"],
  ["people", "People", "Names, initials, PINs"],
  ["reminders", "Reminders", "How and when each person is told, tests and what was sent"],
  ["items", "Drawer", "Spares and when to order them"],
  ["alloys", "Alloys", "The shop's own, by mill certificates"],
  ["devices", "Devices", "Phones and browsers that may come in"],
  ["storage", "This device", "What it keeps, what is unsent, leaving"],
  ["about", "About", "What Wayround is, and its version"],
];

/** Why nothing can be saved now, or null when it can. @returns {"no server" | "not the owner" | null} */
export function hindrance() {
  if (link.value !== "here") return "no server";
  return session.value.owner ? null : "not the owner";
}

function Hindered() {
  const why = hindrance();
  if (why === "not the owner") return html`<${OwnerHere} />`;
  if (!why || (link.value === "no signal" && early.value)) return null;
  return html`<${Notice} live title="Set-up needs the server, and there is no answer from it now.">Below is what this phone keeps, to read.
    ${session.value.owner && " What you write is kept here; it can be saved when there is signal."} Rounds and the log go on without it.<//>`;
}

/** @param {{ on: string }} props */
function Menu({ on }) {
  return html`<nav class="setup-menu" aria-label="Set-up"><ul>${PAGES.map(([path, name]) => html`<li key=${path}>
    <a href=${`#/setup/${path}`} aria-current=${path === on ? "page" : undefined}>${name}</a></li>`)}</ul></nav>`;
}

/** What was just done, said once on the page that follows. */
export function Done() {
  const [said] = useState(done.peek());
  useEffect(() => { done.value = null; }, []);
  return said ? html`<${Notice} live title=${said}><//>` : null;
}

/**
 * @param {{ title: string, on: string, back?: string, aside?: Children, foot?: Children, open?: boolean, children?: Children }} props
 *   `on`: the page of set-up it belongs to; `open`: for everybody, with or without the server
 */
export function SetupPage({ title, on, back = "#/setup", aside, foot, open, children }) {
  return html`<${Page} title=${title} back=${back} aside=${aside} foot=${foot}><div class="setup">
    <${Menu} on=${on} /><div class="setup-main"><${Done} />${!open && html`<${Hindered} />`}${children}</div></div><//>`;
}

/** Controls that go grey for those who may not change anything. Without signal they stay: what is written is kept as a draft. @param {{ children?: Children }} props */
export function Changeable({ children }) {
  return html`<fieldset class="bare" disabled=${!session.value.owner}>${children}</fieldset>`;
}
