// Putting entries in the record from a form, and saying that they are kept.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { ButtonLink, Page, StateMark, where } from "../kit/index.js";
import { keepPhoto, record } from "../store/index.js";

/** @typedef {import("../store/types.js").NewEntry} NewEntry */

/** `keep` resolves to true when all of them are in the record. */
export function useKeeping() {
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const [kept, setKept] = useState(/** @type {string | null} */ (null));
  /** @param {NewEntry[]} entries @param {string} said what was done, in one sentence */
  const keep = async (entries, said) => {
    setProblem(null);
    try {
      await record(entries);
    } catch (error) {
      setProblem(`It is not in the record: ${error instanceof Error ? error.message : error} Press the button again.`);
      return false;
    }
    setKept(said);
    return true;
  };
  return { problem, setProblem, kept, keep };
}

/** A photo is no text; that somebody has looked is said anew. */
const NOT_HELD = new Set(["photo", "looked"]);

/**
 * Hold what is typed over a reload, such as a new version makes in every tab. It is forgotten once the form is kept or
 * left, so that nobody meets half an entry of hours ago.
 * @param {{ values: Record<string, any>, set: (some: any) => void }} form
 * @param {{ kept?: string | null, name?: string }} [more] `name` tells several forms of one address apart
 */
export function useBegun(form, { kept = null, name = "" } = {}) {
  const [slot] = useState(() => `wayround.begun.${where.peek().parts.join("/")}/${name}`);
  const text = kept ? null : JSON.stringify(form.values, (key, value) => (NOT_HELD.has(key) ? undefined : value));
  useEffect(() => {
    const held = inTab((tab) => tab.getItem(slot));
    if (held) form.set(JSON.parse(held));
    return () => inTab((tab) => tab.removeItem(slot));
  }, [slot]);
  useEffect(() => inTab((tab) => (text ? tab.setItem(slot, text) : tab.removeItem(slot))), [slot, text]);
}

/** This tab's storage, where there is one. @template T @param {(tab: Storage) => T} use @returns {T | undefined} */
function inTab(use) {
  try {
    return use(sessionStorage);
  } catch {
    return undefined; // denied or full: then a reload empties the form
  }
}

/** A photo's SHA-256 for an entry's body; the entry is made even when the phone has no room for the picture. @param {Blob | null} photo */
export async function photoOf(photo) {
  return photo ? { photo: (await keepPhoto(photo)).sha256 } : {};
}

/** @param {{ title: string, said: string, to: { href: string, text: string }, also?: { href: string, text: string }, children?: import("preact").ComponentChildren }} props */
export function KeptPage({ title, said, to, also, children }) {
  const foot = html`<div class="pair">${also ? html`<${ButtonLink} big line href=${also.href}>${also.text}<//>` : html`<span></span>`}<${ButtonLink} big href=${to.href}>${to.text}<//></div>`;
  return html`<${Page} title=${title} foot=${foot}><div class="kept" role="status"><${StateMark} mark="fit" word="In the record" size=${34} /><p>${said}</p>${children}</div><//>`;
}

/** What keeping the form will do, before it is kept. @param {{ lines: (string | false | null | undefined)[] }} props */
export function WillDo({ lines }) {
  const said = lines.filter(Boolean);
  if (!said.length) return null;
  return html`<div class="will" role="status"><b>What this will do</b><ul>${said.map((line) => html`<li key=${line}>${line}</li>`)}</ul></div>`;
}
