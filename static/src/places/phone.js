// This phone: who works at it, what it carries, what was refused, what was lost, and how it looks.
import { html } from "htm/preact";
import { useRef, useState } from "preact/hooks";
import { Button, ButtonLink, ChoiceField, Empty, Facts, Form, Notice, Page, Section, capital, counted, setTheme, theme } from "../kit/index.js";
import {
  clock, discard, gaps, link, lost, person, photos, readUnsentFile, resend, saveUnsentToFile, session, storage, syncNow, tray, trayFile, unsent,
} from "../store/index.js";
import { nameOf } from "./names.js";
import { labelOf } from "./records/body.js";
import { BodyFields, useBodyForm } from "./records/editor.js";
import { summaryOf } from "./summary.js";

/** @param {unknown} error */
const said = (error) => (error instanceof Error ? error.message : String(error));

/** Hand a file to the person. @param {File} file */
function save(file) {
  const address = URL.createObjectURL(file);
  const anchor = Object.assign(document.createElement("a"), { href: address, download: file.name });
  document.body.append(anchor);
  anchor.click();
  anchor.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60_000); // the download has begun by then
}

/** A fault's field by the name its form gives it: "body.value" is the reading. @param {string} field */
const fieldName = (field) => capital(labelOf(field.split(".").at(-1) ?? field));

/** @param {{ item: import("../store/types.js").TrayItem }} props */
function Refused({ item }) {
  const { entry, problem } = item;
  const editor = useBodyForm(entry, entry.body);
  const [trouble, setTrouble] = useState(/** @type {string | null} */ (null));
  const [saved, setSaved] = useState(false);
  const send = async () => {
    const read = editor.read();
    if (!read) return;
    try {
      await resend(item.id, read.body);
    } catch (error) {
      setTrouble(`It is not sent: ${said(error)}`);
    }
  };
  const toFile = async () => {
    try {
      save(await trayFile(item.id));
      setSaved(true);
    } catch (error) {
      setTrouble(`It is not saved: ${said(error)}`);
    }
  };
  return html`<article class="refused"><h3>${summaryOf(entry)}</h3>
    <p class="soft">${entry.machine ? nameOf(entry.machine) : "The shop"}</p>
    <p><b>${problem.title}.</b> ${problem.detail !== problem.title && problem.detail}</p>
    ${(problem.errors ?? []).length > 0 && html`<ul>${(problem.errors ?? []).map((fault) => html`<li key=${fault.field}><b>${fieldName(fault.field)}</b> ${fault.problem}: ${fault.mend}.</li>`)}</ul>`}
    <${Form} onSend=${send} problem=${trouble}><${BodyFields} editor=${editor} />
      <div class="row"><${Button}>Send it again<//><${Button} line onPress=${toFile}>Save it to a file<//>
        ${saved && html`<${Button} plain onPress=${() => discard(item.id)}>It is saved: take it out of here<//>`}</div><//></article>`;
}

/** What is missing for good, said once and plainly. */
function Lost() {
  const runs = gaps.value.map(([from, to]) => (from === to ? String(from) : `${from} to ${to}`)).join(", ");
  const saying = storage.value !== null && storage.value !== "kept" && storage.value !== "may be cleared" ? storage.value : null;
  const minutes = Math.round(Math.abs(clock.value) / 60_000);
  return html`${lost.value && html`<${Notice} live title="Something was lost.">${lost.value}<//>`}
    ${runs && html`<${Notice} live title="Entries are missing.">This phone made entries numbered ${runs}, and neither it nor the server has them. Think what you logged about then, and log it again.<//>`}
    ${saying && html`<${Notice} live title="Storage">${saying}<//>`}
    ${storage.value === "may be cleared" && html`<${Notice} title="This browser may clear its storage.">Add Wayround to the home screen, so that what is not sent yet is kept.<//>`}
    ${clock.value !== 0 && html`<${Notice} live title="The clock is off.">This phone's clock is ${counted(minutes, "minute")} ${clock.value > 0 ? "slow" : "fast"}. Set it; what is logged meanwhile is marked and ordered by the corrected time.<//>`}`;
}

/** Everything unsent as a file, and such a file read in. */
function Files() {
  const input = useRef(/** @type {HTMLInputElement | null} */ (null));
  const [result, setResult] = useState(/** @type {string | null} */ (null));
  const out = async () => {
    try {
      save(await saveUnsentToFile());
      setResult("Saved. What is in the file stays on this phone too until it is sent.");
    } catch (error) {
      setResult(`It is not saved: ${said(error)}`);
    }
  };
  /** @param {File | undefined} file */
  const read = async (file) => {
    if (!file) return;
    try {
      const { entries, photos: pictures } = await readUnsentFile(file);
      setResult(`Read in: ${counted(entries, "entry", "entries")} and ${counted(pictures, "photo")}. What was here already is left alone.`);
    } catch (error) {
      setResult(`It is not read in: ${said(error)}`);
    }
    if (input.current) input.current.value = "";
  };
  return html`<${Section} title="By file"><p class="soft">When this phone is to be wiped, or has no signal for days.</p><div class="row"><${Button} line onPress=${out}>Save what is unsent<//>
    <label class="button line">Read a file in<input ref=${input} class="away" type="file" accept="application/json,.json"
      onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ e) => read(e.currentTarget.files?.[0])} /></label></div>
    ${result && html`<p role="status">${result}</p>`}<//>`;
}

/** @type {Record<string, string>} */
const LINKS = { here: "The server is here", "no signal": "No signal", "sign in again": "Signed out", "app too old": "This app is too old", "server trouble": "The server has trouble" };

export default function Phone() {
  const failed = photos.value.filter(({ state }) => state === "failed");
  return html`<${Page} title="This phone" back="#/today"><${Lost} />
    <${Section} title="Refused entries">${tray.value.length ? tray.value.map((item) => html`<${Refused} key=${item.id} item=${item} />`) : html`<${Empty}>None. Whatever the server refuses is kept here, to be mended and sent again.<//>`}<//>
    ${failed.length > 0 && html`<${Notice} title="Photos that cannot be sent.">${failed.map(({ why }) => why).join(" ")}<//>`}
    <${Section} title="What it carries"><${Facts} rows=${[
      ["Server", LINKS[link.value] ?? link.value], ["Entries not sent", html`<span class="num">${unsent.value}</span>`],
      ["Photos not sent", html`<span class="num">${photos.value.length}</span>`], ["This device", session.value.device?.name ?? "not enrolled"],
    ]} /><div class="row"><${Button} line onPress=${syncNow}>Send now<//></div><//>
    <${Files} />
    <${Section} title="Who works here"><p>${person.value ? person.value.name : "Nobody is named."}</p><div class="row"><${ButtonLink} line href="#/who">Somebody else<//><${ButtonLink} line href="#/setup/reminders">Messages on this phone<//></div><//>
    <${Section} title="Look"><${ChoiceField} label="Day or night" value=${theme.value} onValue=${setTheme} options=${[
      { value: "auto", text: "As the phone" }, { value: "day", text: "Day" }, { value: "night", text: "Night" }]} /><//>
  <//>`;
}
