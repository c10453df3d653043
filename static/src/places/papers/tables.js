// What leaves as files and comes back: every entry as spreadsheets, the whole record, machines and tasks in and out.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, DateField, Facts, SelectField, counted, useForm } from "../../kit/index.js";
import { ask } from "../../store/index.js";
import { addressOf, SaveButton } from "./fetching.js";

/** @typedef {{ line: number, action: "add" | "change" | "leave", name: string, fields: { column: string, before: string, after: string }[] }} Change */

/** @param {{ today: string, off: boolean }} props */
export function Exports({ today, off }) {
  const form = useForm({ from: "", to: "" });
  return html`<p class="soft">Each kind of entry as a spreadsheet (CSV) with its units in the headings, all in one zip.</p>
    <div class="pair"><${DateField} label="First day" hint="Empty: the first." max=${today} ...${form.field("from")} /><${DateField} label="Last day" hint="Empty: today." max=${today} ...${form.field("to")} /></div>
    <${SaveButton} line off=${off} address=${addressOf("entries", form.values)} name="entries.zip" text="Save the entries" />
    <p class="soft">The whole record with its chain, a line an entry: anybody can check it without this program. Photos are not in it; a backup has them.</p>
    <${SaveButton} line off=${off} address=${addressOf("record")} name="record.jsonl" text="Save the record" />`;
}

const WHAT = [{ value: "machines", text: "Machines" }, { value: "tasks", text: "Tasks" }];
const ACTIONS = { add: "added", change: "changed", leave: "left as it is" };

/** @param {{ changes: Change[] }} props */
function Would({ changes }) {
  const differ = changes.filter(({ action }) => action !== "leave");
  return html`<ul class="lines">${differ.map(({ line, action, name, fields }) => html`<li key=${line}><b>Line ${line}: ${name}</b> <span class="soft">${ACTIONS[action]}</span>
      ${fields.length > 0 && html`<${Facts} rows=${fields.map(({ column, before, after }) => [column, action === "add" ? after || "nothing" : `${before || "nothing"} → ${after || "nothing"}`])} />`}</li>`)}</ul>
    ${changes.length > differ.length && html`<p class="soft">${counted(changes.length - differ.length, "line")} left as they are.</p>`}`;
}

/** @param {{ off: boolean }} props */
export function SetupSheets({ off }) {
  const form = useForm({ what: "machines" });
  const [file, setFile] = useState(/** @type {{ name: string, csv: string } | null} */ (null));
  const [found, setFound] = useState(/** @type {{ kept: boolean, changes: Change[] } | null} */ (null));
  const [faults, setFaults] = useState(/** @type {string[]} */ ([]));
  const { what } = form.values;
  const send = async (/** @type {string} */ csv, /** @type {boolean} */ dry) => {
    setFaults([]);
    setFound(null);
    try {
      setFound(await ask("POST", `/reports/setup/${what}`, { csv, dry_run: dry }));
    } catch (error) {
      const { errors = [], message } = /** @type {any} */ (error);
      setFaults(errors.length ? errors.map((/** @type {any} */ one) => `${one.field}: ${one.problem}; ${one.mend}.`) : [message]);
    }
  };
  const chosen = async (/** @type {File | undefined} */ picked) => {
    if (!picked) return;
    const csv = await picked.text();
    setFile({ name: picked.name, csv });
    await send(csv, true);
  };
  const differ = found?.changes.filter(({ action }) => action !== "leave").length ?? 0;
  return html`<p class="soft">Save the spreadsheet, edit it, bring it back in. What it would change is shown first; a column that it lacks is left alone.</p>
    <${SelectField} label="Spreadsheet of" options=${WHAT} value=${what} onValue=${(/** @type {string} */ next) => { form.set({ what: next }); setFile(null); setFound(null); setFaults([]); }} />
    <${SaveButton} line off=${off} address=${addressOf(`setup/${what}`)} name=${`${what}.csv`} text="Save the spreadsheet" />
    <div class="field photo"><label class="button line" for="sheet-in">Bring one in</label><input id="sheet-in" class="away" type="file" accept=".csv,text/csv" disabled=${off} onChange=${(/** @type {{ currentTarget: HTMLInputElement }} */ event) => { chosen(event.currentTarget.files?.[0]); event.currentTarget.value = ""; }} /></div>
    ${faults.length > 0 && html`<div role="alert"><p class="field-error">${file?.name ?? "The file"} cannot be used; nothing was changed.</p><ul>${faults.map((one) => html`<li key=${one}>${one}</li>`)}</ul></div>`}
    ${found && !found.kept && html`<div role="status"><p>${differ ? html`<b>${file?.name} would change ${counted(differ, "line")}.</b> Nothing is changed yet.` : `${file?.name} changes nothing.`}</p></div><${Would} changes=${found.changes} />
      ${differ > 0 && file && html`<div class="row"><${Button} onPress=${() => send(file.csv, false)}>Bring it in<//></div>`}`}
    ${found?.kept && html`<p role="status"><b>Brought in: ${counted(differ, "line")}.</b> The record has each change.</p>`}`;
}
