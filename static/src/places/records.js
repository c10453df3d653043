// Records: newest first, by machine and kind; older ones come from the server when there is signal.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { signal } from "@preact/signals";
import { Button, Empty, Page, SelectField, go } from "../kit/index.js";
import { ask, definitions, link, recent } from "../store/index.js";
import { EntryRow } from "./entries.js";
import { Detail } from "./records/detail.js";
import { KIND_NAMES } from "./summary.js";

/** @typedef {import("./entries.js").Row} Row */
/** @typedef {{ machine: string, kind: string }} Filter */

const PAGE = 100;
const SHOWN = 150;

/** What was fetched beyond what this phone keeps, until the page is closed. */
const fetched = signal(/** @type {Map<string, Row>} */ (new Map()));
/** Filters whose end was reached. */
const ended = signal(/** @type {Set<string>} */ (new Set()));

/** @param {Row} entry */
const timeOf = (entry) => Date.parse(entry.receipt?.effective_at ?? entry.at);

/** Everything known here, newest first, each once. @returns {Row[]} */
function known() {
  const here = new Set(recent.value.map(({ id }) => id));
  const older = [...fetched.value.values()].filter(({ id }) => !here.has(id));
  if (!older.length) return recent.value;
  return [...recent.value, ...older].sort((a, b) => timeOf(b) - timeOf(a) || (a.id < b.id ? 1 : -1));
}

/** @param {Row[]} rows @param {Filter} filter */
const matching = (rows, { machine, kind }) =>
  rows.filter((entry) => (!machine || (machine === "shop" ? entry.machine === null : entry.machine === machine)) && (!kind || entry.kind === kind));

/** @param {Filter} filter @param {Row[]} rows */
async function fetchOlder(filter, rows) {
  const sent = rows.filter((row) => !row.unsent);
  const last = sent[sent.length - 1];
  const query = new URLSearchParams({ limit: String(PAGE) });
  if (filter.machine && filter.machine !== "shop") query.set("machine", filter.machine);
  if (filter.kind) query.set("kind", filter.kind);
  if (last) query.set("before", `${timeOf(last)},${last.id}`);
  const answer = await ask("GET", `/records?${query}`);
  const next = new Map(fetched.value);
  for (const entry of answer.entries) next.set(entry.id, { ...entry, summary: entry.line });
  fetched.value = next;
  if (!answer.more) ended.value = new Set([...ended.value, JSON.stringify(filter)]);
}

/** @param {{ filter: Filter, rows: Row[] }} props */
function Older({ filter, rows }) {
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  if (ended.value.has(JSON.stringify(filter))) return html`<${Empty}>That is the beginning of the record.<//>`;
  if (link.value !== "here") return html`<${Empty}>Older entries are on the server: they can be read where there is signal.<//>`;
  const more = async () => {
    setProblem(null);
    try {
      await fetchOlder(filter, rows);
    } catch (error) {
      setProblem(`The older entries did not come: ${error instanceof Error ? error.message : error} Try again.`);
    }
  };
  return html`${problem && html`<p class="field-error" role="alert">${problem}</p>`}<${Button} line onPress=${more}>Older entries<//>`;
}

/** @param {{ filter: Filter }} props */
function List({ filter }) {
  const [shown, setShown] = useState(SHOWN);
  const rows = matching(known(), filter);
  /** @param {Partial<Filter>} some */
  const narrow = (some) => {
    const next = new URLSearchParams(Object.entries({ ...filter, ...some }).filter(([, value]) => value));
    go(next.size ? `records?${next}` : "records", { replace: true });
  };
  const machines = [...definitions.value.machines.map(({ id, name }) => ({ value: id, text: name })), { value: "shop", text: "The shop" }];
  return html`<${Page} title="Records" aside=${html`<a href="#/phone">This phone</a>`}>
    <div class="filters"><${SelectField} label="Machine" blank="All machines" options=${machines} value=${filter.machine} onValue=${(/** @type {string} */ machine) => narrow({ machine })} />
      <${SelectField} label="Kind" blank="All kinds" options=${Object.entries(KIND_NAMES).map(([value, text]) => ({ value, text }))} value=${filter.kind} onValue=${(/** @type {string} */ kind) => narrow({ kind })} /></div>
    ${rows.length ? html`<ul class="entries">${rows.slice(0, shown).map((entry) => html`<${EntryRow} key=${entry.id} entry=${entry} machine />`)}</ul>` : html`<${Empty}>Nothing here that fits.<//>`}
    <div class="row">${rows.length > shown ? html`<${Button} line onPress=${() => setShown(shown + SHOWN)}>Show more<//>` : html`<${Older} filter=${filter} rows=${rows} />`}</div>
  <//>`;
}

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function Records({ parts: [id], query }) {
  if (id) return html`<${Detail} entry=${known().find((entry) => entry.id === id) ?? null} />`;
  return html`<${List} filter=${{ machine: query.get("machine") ?? "", kind: query.get("kind") ?? "" }} />`;
}
