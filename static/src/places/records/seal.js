// An entry's place in the record: its number, its seal and the one before, worked out again on this phone where it can.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Facts, Section, sayWhen } from "../../kit/index.js";
import { ask, history, link } from "../../store/index.js";
import { initialsOf } from "../names.js";
import { calendar, world } from "../world.js";

/** @typedef {import("../entries.js").Row} Row */
/** @typedef {{ position: number, chain: string, previous: string, text: string, device: string | null, mendings: any[] }} Sealed */

/** @param {string} text @returns {Promise<string | null>} null where the browser gives no cryptography (no TLS) */
async function sha256(text) {
  if (!globalThis.crypto?.subtle) return null;
  const digest = await crypto.subtle.digest("SHA-256", new TextEncoder().encode(text));
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/** The entry as the server has it, and whether its seal fits when this phone works it out. @param {string} id @param {boolean} sent */
export function useSeal(id, sent) {
  const [found, setFound] = useState(/** @type {{ entry: (Row & Sealed) | null, fits: boolean | null, missing: boolean }} */ ({ entry: null, fits: null, missing: false }));
  const there = link.value === "here";
  useEffect(() => {
    let here = true;
    const look = async () => {
      const entry = await ask("GET", `/records/${id}`);
      const own = await sha256(entry.previous + entry.text);
      if (here) setFound({ entry: { ...entry, summary: entry.line }, fits: own === null ? null : own === entry.chain, missing: false });
    };
    if (sent && there) look().catch((error) => here && setFound((before) => ({ ...before, missing: error?.status === 404 })));
    return () => { here = false; };
  }, [id, sent, there]);
  return found;
}

/** @param {string} kind */
const wordOf = (kind) => (kind === "entry.voided" ? "Voided" : "Amended");

/** What mended it, the first version staying. @param {{ mendings: any[] }} props */
export function Mendings({ mendings }) {
  if (!mendings.length) return null;
  const clock = { zone: calendar.value.zone, now: world.value.now };
  return html`<${Section} title="What mended it"><ul class="lines">${mendings.map(({ id, kind, by, at, body }) => html`<li key=${id}><a href=${`#/records/${id}`}><b>${wordOf(kind)}: ${body.why}</b>
    <span class="soft">${sayWhen(at, clock)}, ${initialsOf(by)}</span></a></li>`)}</ul><//>`;
}

/** @param {{ entry: Row, seal: ReturnType<typeof useSeal> }} props */
export function Seal({ entry, seal: { entry: sealed, fits } }) {
  if (entry.unsent) return html`<${Section} title="Its place in the record"><p class="soft">It has none yet: the server gives it one when this phone sends it.</p><//>`;
  if (!sealed) return html`<${Section} title="Its place in the record"><p class="soft">${entry.position ? `Number ${entry.position}. ` : ""}Its seal is on the server: it can be read where there is signal.</p><//>`;
  const rows = [["Number", html`<span class="num">${sealed.position}</span>`], ["Seal", html`<code class="seal">${sealed.chain}</code>`], ["Seal before", html`<code class="seal">${sealed.previous}</code>`]];
  return html`<${Section} title="Its place in the record"><${Facts} rows=${rows} />
    <p role="status">${fits === null ? "" : fits ? "This phone has just worked the seal out again: it fits." : html`<b>This phone has worked the seal out again, and it does not fit. Tell the owner: «wayround verify» says where the record was altered.</b>`}</p>
    <p class="soft">Each entry has a seal, worked out from every letter of it and from the seal of the entry before (SHA-256). Who changes one letter of an old entry would have to make every seal after it anew;
      a seal that was printed in a binder, or written down, shows it.</p><//>`;
}

/** The name of the device that an entry came from. @param {Row} entry @param {string | null | undefined} told */
export function deviceOf(entry, told) {
  const id = entry.receipt?.device;
  return told ?? (id && history.value?.devices?.[id]) ?? (entry.unsent || !entry.receipt ? "this phone" : "a device whose name is on the server");
}
