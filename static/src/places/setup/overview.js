// Set-up at a glance: every page of it, with what stands there.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Page, Section, counted, theme } from "../../kit/index.js";
import { definitions, drafts, session, storage } from "../../store/index.js";
import { inUse } from "../standing.js";
import { Done, PAGES } from "./frame.js";
import { Row, Rows } from "./listing.js";

/** What stands on each page. @returns {Record<string, string>} */
function standing() {
  const { shop, bays, machines, tasks, checklists, people, items, alloys } = definitions.value;
  return {
    shop: shop ? String(shop.name) : "", bays: counted(inUse(bays).length, "bay"), machines: counted(inUse(machines).length, "machine"),
    tasks: counted(inUse(tasks).length, "task"), checklists: counted(inUse(checklists).length, "checklist"),
    people: inUse(people).length === 1 ? "1 person" : `${inUse(people).length} people`, items: counted(inUse(items).length, "item"), alloys: counted(inUse(alloys).length, "alloy"),
    storage: `${storage.value === "kept" ? "storage kept" : storage.value ?? ""}${theme.value === "auto" ? "" : ` ${theme.value}`}`.trim(), devices: "", about: "",
  };
}

/** Forms that were begun and not saved. */
function Begun() {
  const [keys, setKeys] = useState(/** @type {string[]} */ ([]));
  useEffect(() => {
    drafts().then((all) => setKeys(all.map(({ key }) => key).filter((key) => key.startsWith("setup/"))), () => {});
  }, []);
  if (!keys.length) return null;
  const named = (/** @type {string} */ id) => (id === "new" ? "a new one" : definitions.value.byId.get(id)?.name ?? "not known any more");
  return html`<${Section} title="Begun and not saved"><${Rows}>${keys.map((key) => {
    const [, on, id] = key.split("/");
    const page = PAGES.find(([path]) => path === on)?.[1] ?? "Machines";
    const path = on === "stand" ? "stand" : on === "shop" ? "shop" : `${on}/${id}`;
    return html`<${Row} key=${key} href=${`#/setup/${path}`} name=${on === "stand" ? "Machines chosen from the library" : `${page}: ${named(id)}`} />`;
  })}<//><//>`;
}

export function Overview() {
  const there = standing();
  const { owner } = session.value;
  return html`<${Page} title="Set-up"><${Done} /><div class="setup-tiles">${PAGES.map(([path, name, about]) => html`<a key=${path} class="setup-tile" href=${`#/setup/${path}`}>
      <b>${name}</b><span class="soft">${about}</span>${there[path] && html`<span class="setup-there num">${there[path]}</span>`}</a>`)}</div>
    <p>Check sheets, labels, the records binder, spreadsheets in and out: <a href="#/papers">Papers</a></p>
    <${Begun} />
    <p>${owner ? html`The owner is signed in on this device. <a href="#/signin">Sign out</a>` : html`Only the owner changes set-up. <a href="#/signin">Sign in as owner</a>`}</p><//>`;
}
