// Devices: who may come in, a one-time code for one more, and closing one out.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, Empty, Notice, Section, sayWhen } from "../../kit/index.js";
import { ask } from "../../store/index.js";
import { calendar } from "../world.js";
import { hindrance, SetupPage } from "./frame.js";

/**
 * @typedef {object} DeviceRow
 * @property {string} id @property {string} name @property {string} kind @property {string | null} person
 * @property {string} created_at @property {string | null} last_seen_at @property {string | null} owner_until
 * @property {[number, number][]} seq_missing numbers of its entries that never came
 * @property {boolean} this it is the one that asks
 * @typedef {{ code: string, url: string, qr: string, expires_at: string }} Code
 */

const LOOK_MS = 3_000; // while a code is shown: has somebody come in by it?

/** @param {unknown} error */
const told = (error) => (error instanceof Error ? error.message : String(error));

/** "9:41". @param {number} ms */
export function clockFace(ms) {
  const seconds = Math.max(0, Math.ceil(ms / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}

/** @param {[number, number][]} runs */
const sayRuns = (runs) => runs.map(([from, to]) => (from === to ? String(from) : `${from} to ${to}`)).join(", ");

/** The time now, every second. */
function useSeconds() {
  const [now, setNow] = useState(Date.now());
  useEffect(() => {
    const timer = setInterval(() => setNow(Date.now()), 1000);
    return () => clearInterval(timer);
  }, []);
  return now;
}

/** @param {{ code: Code, came: DeviceRow | null, onAgain: () => unknown, onDone: () => void }} props */
function CodeShown({ code, came, onAgain, onDone }) {
  const left = Date.parse(code.expires_at) - useSeconds();
  if (came) return html`<${Notice} live title=${`${came.name} has joined.`}><div class="row"><${Button} line onPress=${onDone}>Close<//><${Button} plain onPress=${onAgain}>Another code<//></div><//>`;
  if (left <= 0) return html`<${Notice} live title="The code has run out."><div class="row"><${Button} onPress=${onAgain}>Make a new code<//><${Button} line onPress=${onDone}>Close<//></div><//>`;
  return html`<div class="code"><div class="code-square" role="img" aria-label="The same as a square to point a phone's camera at" dangerouslySetInnerHTML=${{ __html: code.qr }}></div>
    <div class="stack"><p>Point the phone's camera at the square, or open the address below on it and type the letters.</p>
      <p class="code-letters num">${code.code}</p><p class="code-address num">${code.url.replace(/\?code=.*$/, "")}</p>
      <p>Good once, for <b class="num">${clockFace(left)}</b> more.</p>
      <p class="soft">The phone must be on the shop's network. The first time it may warn that it does not know this server's certificate.</p>
      <div class="row"><${Button} line onPress=${onDone}>Close<//></div></div></div>`;
}

/** @param {{ row: DeviceRow, onRevoke: (row: DeviceRow) => Promise<void> }} props */
function Device({ row, onRevoke }) {
  const [asking, setAsking] = useState(false);
  const { zone } = calendar.value;
  const when = (/** @type {string | null} */ at) => (at ? sayWhen(at, { zone }) : "never");
  return html`<li class="device"><div class="device-head"><b>${row.name}</b>${row.this && html`<span class="mark">this device</span>`}${row.kind === "script" && html`<span class="mark">script</span>`}</div>
    <p class="soft">Seen ${when(row.last_seen_at)}; joined ${when(row.created_at)}.${row.owner_until && Date.parse(row.owner_until) > Date.now() && " The owner is signed in on it."}</p>
    ${row.seq_missing.length > 0 && html`<p><b>Entries numbered ${sayRuns(row.seq_missing)} never came.</b> Ask at that phone what was logged about then.</p>`}
    ${row.this ? html`<p class="soft">Leaving the shop with it is under <a href="#/setup/storage">This device</a>.</p>`
    : asking ? html`<div class="sure" role="alert"><p><b>Close ${row.name} out?</b> It can no longer send or fetch. What it sent stays; what it has not sent stays on it and can be saved to a file there.</p>
        <div class="row"><${Button} onPress=${() => onRevoke(row)}>Close it out<//><${Button} line onPress=${() => setAsking(false)}>Leave it<//></div></div>`
    : html`<div class="row"><${Button} line onPress=${() => setAsking(true)}>Close it out<//></div>`}</li>`;
}

/** The list, fetched anew while a code is shown. @param {boolean} may @param {Code | null} code */
function useDevices(may, code) {
  const [rows, setRows] = useState(/** @type {DeviceRow[] | null} */ (null));
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const look = async () => {
    try {
      setRows(await ask("GET", "/devices"));
      setProblem(null);
    } catch (error) {
      setProblem(told(error));
    }
  };
  useEffect(() => {
    if (!may) return undefined;
    void look();
    const timer = code && setInterval(look, LOOK_MS);
    return () => { if (timer) clearInterval(timer); };
  }, [may, code]);
  return { rows, problem, setProblem, look };
}

export function Devices() {
  const [code, setCode] = useState(/** @type {Code | null} */ (null));
  const [before, setBefore] = useState(/** @type {string[]} */ ([]));
  const may = hindrance() === null;
  const { rows, problem, setProblem, look } = useDevices(may, code);
  const came = code && (rows ?? []).find(({ id }) => !before.includes(id));
  const make = async () => {
    try {
      setBefore((rows ?? []).map(({ id }) => id));
      setCode(await ask("POST", "/devices/codes"));
      setProblem(null);
    } catch (error) {
      setProblem(told(error));
    }
  };
  const revoke = async (/** @type {DeviceRow} */ row) => {
    try {
      await ask("DELETE", `/devices/${row.id}`);
      await look();
    } catch (error) {
      setProblem(told(error));
    }
  };
  return html`<${SetupPage} title="Devices" on="devices">${problem && html`<p class="field-error" role="alert">${problem}</p>`}
    ${code ? html`<${CodeShown} code=${code} came=${came ?? null} onAgain=${make} onDone=${() => setCode(null)} />`
    : html`<div class="row"><${Button} off=${!may || !rows} onPress=${make}>Let a phone in<//></div>`}
    <${Section} title="May come in">${rows ? html`<ul class="devices">${rows.map((row) => html`<${Device} key=${row.id} row=${row} onRevoke=${revoke} />`)}</ul>`
    : html`<${Empty}>${may ? "The list is on its way." : "The list is the owner's, and comes from the server."}<//>`}<//><//>`;
}
