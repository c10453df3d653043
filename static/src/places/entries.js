// Rows of the record.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Empty, sayWhen } from "../kit/index.js";
import { entriesOf, recent } from "../store/index.js";
import { initialsOf, nameOf } from "./names.js";
import { summaryOf } from "./summary.js";
import { calendar, world } from "./world.js";

/** @typedef {import("../store/types.js").ListedEntry & { summary?: string }} Row */

/** @param {{ entry: Row, machine?: boolean }} props `machine`: say at which machine */
export function EntryRow({ entry, machine }) {
  const clock = { zone: calendar.value.zone, now: world.value.now };
  const marks = [entry.unsent && "not sent yet", entry.voided && "voided", entry.amended && "amended"].filter(Boolean);
  return html`<li class=${`entry${entry.voided ? " entry-void" : ""}`}><a href=${`#/records/${entry.id}`}>
    <span class="entry-when num">${sayWhen(entry.at, clock)}</span>
    <span class="entry-what">${machine && entry.machine && html`<b>${nameOf(entry.machine)}.</b> `}${summaryOf(entry)}
      ${marks.length > 0 && html`<span class="entry-marks">${marks.join(", ")}</span>`}</span>
    <span class="entry-who">${initialsOf(entry.by)}</span></a></li>`;
}

/** The newest entries at a machine, kept up to date. @param {string | null} machine @param {number} limit */
export function useEntries(machine, limit) {
  const [rows, setRows] = useState(/** @type {Row[]} */ ([]));
  const newest = recent.value;
  useEffect(() => {
    let here = true;
    entriesOf(machine, limit).then((found) => here && setRows(found), () => {}); // the list then stays as it is
    return () => {
      here = false;
    };
  }, [machine, limit, newest]);
  return rows;
}

/** @param {{ machine: string | null, limit?: number }} props */
export function LastEntries({ machine, limit = 8 }) {
  const rows = useEntries(machine, limit);
  if (!rows.length) return html`<${Empty}>Nothing yet.<//>`;
  return html`<ul class="entries">${rows.map((entry) => html`<${EntryRow} key=${entry.id} entry=${entry} />`)}</ul>
    <a class="all-entries" href=${machine ? `#/records?machine=${machine}` : "#/records"}>All its records</a>`;
}
