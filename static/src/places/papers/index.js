// Papers: everything that leaves the shop on paper or as a file, and what comes back.
import { html } from "htm/preact";
import { Notice, Page, Section } from "../../kit/index.js";
import { definitions, link, session } from "../../store/index.js";
import { OwnerHere } from "../setup/owner-here.js";
import { calendar } from "../world.js";
import { Binder } from "./binder.js";
import { Labels, Sheets, WallCards } from "./small.js";
import { Exports, SetupSheets } from "./tables.js";

export default function Papers() {
  const { today } = calendar.value;
  const { owner } = session.value;
  const off = link.value !== "here";
  return html`<${Page} title="Papers" back="#/records">
    ${off && html`<${Notice} live title="Papers are made by the server, and there is no answer from it now.">Print sheets and labels while there is signal: they are for the days without.<//>`}
    <div class="families"><${Section} title="Check sheets"><${Sheets} off=${off} /><//><${Section} title="Labels"><${Labels} off=${off} metric=${definitions.value.shop?.units === "metric"} /><//>
    <${Section} title="Hazard cards"><${WallCards} off=${off} /><//>
    ${owner ? html`<${Section} title="Records binder"><${Binder} today=${today} off=${off} /><//><${Section} title="Entries and record"><${Exports} today=${today} off=${off} /><//><${Section} title="Machines and tasks"><${SetupSheets} off=${off} /><//>`
      : html`<${Section} title="Binder and exports">${off ? html`<p class="soft">The binder, exports and imports are the owner's.</p>` : html`<${OwnerHere} title="The binder, exports and imports are the owner's." say="Sheets, labels and cards are for everybody." />`}<//>`}</div><//>`;
}
