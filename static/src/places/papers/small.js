// The small papers: check sheets, labels, hazard cards.
import { html } from "htm/preact";
import { NumberField, SelectField, useForm } from "../../kit/index.js";
import { cards, definitions } from "../../store/index.js";
import { inUse } from "../standing.js";
import { addressOf, SaveButton } from "./fetching.js";

const FORMS = [["start-up", "Start-up"], ["weekly", "Weekly"], ["after-change", "After a change"], ["shut-down", "Shut-down"], ["periodic", "Periodic"]].map(([value, text]) => ({ value, text }));
const SIZES = ["62x29", "70x37", "105x74", "50x50"].map((value) => ({ value, text: `${value.replace("x", " × ")} mm` }));
const PAPERS = [{ value: "A4", text: "A4 sheet" }, { value: "Letter", text: "Letter sheet" }, { value: "roll", text: "Label roll, one a page" }];

/** @param {{ list: import("../../store/types.js").Definition[] }} props */
const optionsOf = ({ list }) => inUse(list).map(({ id, name }) => ({ value: id, text: name }));

/** @param {{ off: boolean }} props */
export function Sheets({ off }) {
  const form = useForm({ form: "start-up", machine: "" });
  const lists = inUse(definitions.value.checklists).filter((one) => one.form === form.values.form && one.machine && (!form.values.machine || one.machine === form.values.machine));
  return html`<p class="soft">One machine a page, to be walked on paper when no phone works. Afterwards <a href="#/log/sheet">type it in</a>.</p>
    <div class="pair"><${SelectField} label="Kind of round" options=${FORMS} ...${form.field("form")} /><${SelectField} label="Machine" blank="All that have one" options=${optionsOf({ list: definitions.value.machines })} ...${form.field("machine")} /></div>
    ${!lists.length && html`<p class="soft">No such list is set up there.</p>`}
    <${SaveButton} off=${off || !lists.length} address=${addressOf("sheets", form.values)} name=${`check-sheets-${form.values.form}.pdf`} text="Save the sheets" />`;
}

/** @param {{ off: boolean, metric: boolean }} props */
export function Labels({ off, metric }) {
  const form = useForm({ of: "machine", id: "", size: "70x37", paper: metric ? "A4" : "Letter", skip: "" });
  const { of, id, size, paper, skip } = form.values;
  const list = of === "machine" ? definitions.value.machines : definitions.value.bays;
  const whole = /^\d{1,3}$/.test(skip.trim() || "0");
  return html`<p class="soft">A label's code opens the machine's round, or the bay with its machines, with any phone's camera; without signal too.</p>
    <div class="pair"><${SelectField} label="Labels of" options=${[{ value: "machine", text: "Machines" }, { value: "bay", text: "Bays" }]} value=${of} onValue=${(/** @type {string} */ next) => form.set({ of: next, id: "" })} />
      <${SelectField} label="Which" blank="All" options=${optionsOf({ list })} ...${form.field("id")} /></div>
    <div class="pair"><${SelectField} label="Size" options=${SIZES} ...${form.field("size")} /><${SelectField} label="Paper" options=${PAPERS} ...${form.field("paper")} /></div>
    ${paper !== "roll" && html`<${NumberField} label="Places used up on the first sheet" whole value=${skip} error=${whole ? null : "Type a whole number, or nothing."} onValue=${(/** @type {string} */ next) => form.set({ skip: next })} />`}
    <${SaveButton} off=${off || !whole || !inUse(list).length} address=${addressOf("labels", { of, id, size, paper, skip: paper === "roll" ? "" : skip.trim() })} name="labels.pdf" text="Save the labels" />`;
}

/** Names of the cards of one kind, by key. @param {Record<string, any>} table */
const keysOf = (table) => Object.entries(table).map(([value, { name }]) => ({ value, text: String(name ?? value) })).sort((a, b) => a.text.localeCompare(b.text, undefined, { numeric: true }));

/** @param {{ off: boolean }} props */
export function WallCards({ off }) {
  const form = useForm({ alloys: "", media: "", process: "dry_sand" });
  const found = /** @type {any} */ (cards.value);
  if (!found) return html`<p class="soft">The cards are not on this phone yet; they come with the next sync.</p>`;
  const { alloys, media } = form.values;
  return html`<p class="soft">One card a page for the wall: what is in it, what that needs, the limits with their sources.</p>
    <div class="pair"><${SelectField} label="Alloy" blank="None" options=${keysOf(found.alloys)} ...${form.field("alloys")} /><${SelectField} label="Medium" blank="None" options=${keysOf(found.media)} ...${form.field("media")} /></div>
    <${SelectField} label="Work" options=${keysOf(found.processes)} ...${form.field("process")} />
    <${SaveButton} off=${off || !(alloys || media)} address=${addressOf("cards", form.values)} name="hazard-cards.pdf" text="Save the cards" />`;
}
