// Putting entries in the record from a form, and saying that they are kept.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { ButtonLink, Page, StateMark, where } from "../kit/index.js";
import { heldPhoto, keepPhoto, record } from "../store/index.js";

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

/** A photo is no text, and held apart; that somebody has looked is said anew, and a secret lies nowhere. */
const NOT_HELD = new Set(["photo", "looked", "password", "again", "pin"]);

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
  useBegunPhoto(form, slot, Boolean(kept));
}

/**
 * The same for a photo: it is kept on this phone at once, and this tab remembers which it was. One that comes to
 * nothing is swept out with the others.
 * @param {{ values: Record<string, any>, set: (some: any) => void }} form @param {string} slot @param {boolean} over
 */
function useBegunPhoto(form, slot, over) {
  const key = `${slot}/photo`;
  const { photo } = form.values;
  const begun = useRef(false);
  useEffect(() => {
    const held = "photo" in form.values ? inTab((tab) => tab.getItem(key)) : null;
    if (held) heldPhoto(held).then((found) => found && form.set({ photo: found }), () => {});
    return () => inTab((tab) => tab.removeItem(key));
  }, [key]);
  useEffect(() => {
    let still = true;
    if (photo && !over) keepPhoto(photo).then(({ sha256, kept }) => still && kept && inTab((tab) => tab.setItem(key, sha256)), () => {}); // keeping the form says what is wrong
    else if (begun.current) inTab((tab) => tab.removeItem(key));
    begun.current = true;
    return () => { still = false; };
  }, [photo, over]);
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
