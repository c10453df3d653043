// Set-up: what people define, by page.
import { html } from "htm/preact";
import { About } from "./about.js";
import { Alloys } from "./alloys.js";
import { Bays } from "./bays.js";
import { Checklists } from "./checklists.js";
import { Devices } from "./devices.js";
import { Items } from "./items.js";
import { Machines } from "./machines.js";
import { Overview } from "./overview.js";
import { People } from "./people.js";
import { RemindersPage } from "../reminders/page.js";
import { ShopPage } from "./shop.js";
import { Stand } from "./stand.js";
import { StoragePage } from "./storage.js";
import { Tasks } from "./tasks.js";

/** Each page by the first word after `setup`. @type {Record<string, (props: { parts: string[] }) => any>} */
const PAGES = {
  shop: ShopPage, bays: Bays, machines: Machines, stand: Stand, tasks: Tasks, checklists: Checklists, people: People, reminders: RemindersPage, items: Items, alloys: Alloys, devices: Devices, storage: StoragePage, about: About,
};

/** @param {{ parts: string[] }} props */
export default function Setup({ parts: [page = "", ...rest] }) {
  const found = PAGES[page];
  return found ? html`<${found} parts=${rest} />` : html`<${Overview} />`;
}
