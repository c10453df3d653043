// Records: the list and one entry of it; what the record tells as a whole has pages of its own.
import { html } from "htm/preact";
import { Detail } from "./records/detail.js";
import { filterOf } from "./records/filter.js";
import Findings from "./records/findings.js";
import { List, knownEntry, useKept } from "./records/list.js";
import OnTime from "./records/on-time.js";
import Rounds from "./records/rounds.js";
import Time from "./records/time.js";

/** @type {Record<string, import("preact").ComponentType<any>>} */
const PAGES = { findings: Findings, rounds: Rounds, "on-time": OnTime, time: Time };

/** @param {{ id: string }} props */
function One({ id }) {
  return html`<${Detail} id=${id} entry=${knownEntry(useKept(), id)} />`;
}

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function Records({ parts: [id], query }) {
  if (id && PAGES[id]) return html`<${PAGES[id]} query=${query} />`;
  return id ? html`<${One} id=${id} />` : html`<${List} filter=${filterOf(query)} />`;
}
