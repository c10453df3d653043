// The record as a list, newest first: what this phone keeps, and older entries from the server where there is signal.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { signal } from "@preact/signals";
import { Button, DateField, Empty, Page, SelectField, go } from "../../kit/index.js";
import { allEntries, ask, cards, definitions, history, link, recent } from "../../store/index.js";
import { EntryRow } from "../entries.js";
import { initialsOf } from "../names.js";
import { KIND_NAMES, summaryOf } from "../summary.js";
import { calendar } from "../world.js";
import { FIELDS, matching, metalsOf, queryOf, timeOf, together } from "./filter.js";

/** @typedef {import("../entries.js").Row} Row */
/** @typedef {import("./filter.js").Filter} Filter */
/** @typedef {{ rows: Row[], ended: boolean }} Fetched */

const PAGE = 100;
const SHOWN = 150;

/** What this phone keeps, some 100 days; read anew when something comes. */
const kept = signal(/** @type {Row[]} */ ([]));
/** What was fetched beyond that, by what was asked, until the page is closed. */
const fetched = signal(/** @type {Map<string, Fetched>} */ (new Map()));

/** Everything on this phone, kept up to date. @returns {Row[]} */
export function useKept() {
  const newest = recent.value;
  useEffect(() => {
    let here = true;
    allEntries().then((rows) => { if (here) kept.value = rows; }, () => {}); // the list then stays as it is
    return () => { here = false; };
  }, [newest]);
  return kept.value.length ? kept.value : newest;
}

/** An entry that was fetched, or is kept here. @param {Row[]} rows @param {string} id @returns {Row | null} */
export const knownEntry = (rows, id) => rows.find((one) => one.id === id) ?? [...fetched.value.values()].flatMap((one) => one.rows).find((one) => one.id === id) ?? null;

/** @param {Filter} filter @param {Row[]} rows those that are shown */
async function fetchOlder(filter, rows) {
  const query = queryOf(filter);
  query.set("limit", String(PAGE));
  const last = rows.filter((row) => !row.unsent).at(-1);
  if (last) query.set("before", `${timeOf(last)},${last.id}`);
  const answer = await ask("GET", `/records?${query}`);
  const key = queryOf(filter).toString();
  const more = answer.entries.map((/** @type {any} */ entry) => ({ ...entry, summary: entry.line }));
  fetched.value = new Map(fetched.value).set(key, { rows: [...(fetched.value.get(key)?.rows ?? []), ...more], ended: !answer.more });
}

/** @param {{ filter: Filter, rows: Row[] }} props */
function Older({ filter, rows }) {
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  if (fetched.value.get(queryOf(filter).toString())?.ended) return html`<${Empty}>That is all of it, to the beginning of the record.<//>`;
  if (link.value !== "here") return html`<${Empty}>This phone keeps the last 90 days. Older entries are on the server: they can be read where there is signal.<//>`;
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

/** Metals that the record of late names, by key or as written. @param {Row[]} rows @param {string} chosen */
function metals(rows, chosen) {
  const named = new Set([...(history.value?.alloys ?? []), ...rows.flatMap(metalsOf), ...(chosen ? [chosen] : [])]);
  return [...named].sort().map((value) => ({ value, text: cards.value?.alloys?.[value]?.name ?? value }));
}

/** Findings, open and closed, newest first. @param {Row[]} rows @param {string} chosen */
function findings(rows, chosen) {
  const known = rows.filter(({ kind }) => kind === "finding.opened").map((entry) => ({ value: entry.id, text: summaryOf(entry) }));
  return chosen && !known.some(({ value }) => value === chosen) ? [...known, { value: chosen, text: "One from before these days" }] : known;
}

/** @param {{ filter: Filter, rows: Row[], narrow: (some: Partial<Filter>) => void }} props */
function Filters({ filter, rows, narrow }) {
  const { machines, people } = definitions.value;
  const [opened, setOpened] = useState(false);
  const open = opened || FIELDS.slice(2).some((field) => filter[field]);
  /** @param {keyof Filter} field @param {string} label @param {string} blank @param {{ value: string, text: string }[]} options */
  const choose = (field, label, blank, options) => html`<${SelectField} label=${label} blank=${blank} options=${options} value=${filter[field]} onValue=${(/** @type {string} */ value) => narrow({ [field]: value })} />`;
  const asked = FIELDS.filter((field) => filter[field]).length;
  return html`<div class="filters">${choose("machine", "Machine", "All machines", [...machines.map(({ id, name }) => ({ value: id, text: name })), { value: "shop", text: "The shop" }])}
      ${choose("kind", "Kind", "All kinds", Object.entries(KIND_NAMES).map(([value, text]) => ({ value, text })))}</div>
    <details class="more-filters" open=${open} onToggle=${(/** @type {{ currentTarget: HTMLDetailsElement }} */ event) => setOpened(event.currentTarget.open)}><summary>By person, days, metal or finding</summary>
      <div class="filters">${choose("person", "Person", "Everybody", people.map(({ id, name }) => ({ value: id, text: `${name} (${initialsOf(id)})` })))}
        ${choose("alloy", "Metal", "Any metal", metals(rows, filter.alloy))}
        <${DateField} label="From" value=${filter.from} max=${filter.to} onValue=${(/** @type {string} */ from) => narrow({ from })} />
        <${DateField} label="To" value=${filter.to} min=${filter.from} onValue=${(/** @type {string} */ to) => narrow({ to })} />
        ${choose("finding", "Belongs to a finding", "Any or none", findings(rows, filter.finding))}</div></details>
    ${asked > 0 && html`<div class="row"><${Button} plain onPress=${() => go("records", { replace: true })}>Show all again<//></div>`}`;
}

const PLACES = [["findings", "Open findings"], ["rounds", "Rounds kept"], ["on-time", "Tasks on time"], ["time", "Time spent, time out"]];

/** Where the record is told as a whole. */
const Ways = () => html`<ul class="ways">${PLACES.map(([page, name]) => html`<li key=${page}><a href=${`#/records/${page}`}>${name}</a></li>`)}<li><a href="#/history">History of a machine</a></li></ul>`;

/** @param {{ filter: Filter }} props */
export function List({ filter }) {
  const [shown, setShown] = useState(SHOWN);
  const here = useKept();
  const rows = together(matching(here, filter, calendar.value.zone), fetched.value.get(queryOf(filter).toString())?.rows ?? []);
  /** @param {Partial<Filter>} some */
  const narrow = (some) => {
    const next = queryOf({ ...filter, ...some });
    go(next.size ? `records?${next}` : "records", { replace: true });
  };
  return html`<${Page} title="Records" aside=${html`<a href="#/papers">Papers</a> <a href="#/phone">This phone</a>`}><${Ways} />
    <${Filters} filter=${filter} rows=${here} narrow=${narrow} />
    ${rows.length ? html`<ul class="entries">${rows.slice(0, shown).map((entry) => html`<${EntryRow} key=${entry.id} entry=${entry} machine />`)}</ul>` : html`<${Empty}>Nothing on this phone that fits.<//>`}
    <div class="row">${rows.length > shown ? html`<${Button} line onPress=${() => setShown(shown + SHOWN)}>Show more<//>` : html`<${Older} filter=${filter} rows=${rows} />`}</div>
  <//>`;
}
