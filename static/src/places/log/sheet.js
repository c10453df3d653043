// A printed check sheet typed in afterwards, all of it on one screen as on the paper; marked as typed in wherever it stands.
import { html } from "htm/preact";
import { Button, ChoiceField, Empty, Form, Notice, NumberField, Page, Section, SelectField, TextField, limitsSaid, useForm } from "../../kit/index.js";
import { definitions, newId, person } from "../../store/index.js";
import { KeptPage, WillDo, useBegun, useKeeping } from "../keeping.js";
import { inUse } from "../standing.js";
import { calendar } from "../world.js";
import { answerOn, sheetEntries } from "./sheet-values.js";

/** @typedef {import("../round/run.js").Check} Check @typedef {import("./sheet-values.js").Line} Line */
/** @typedef {import("../../store/types.js").Definition} Definition */

const MARKS = [{ value: "ok", text: "Ok" }, { value: "not ok", text: "Not ok" }, { value: "n/a", text: "n/a" }];

/** @param {{ check: Check, number: number, line: Line, error: string | null, onLine: (some: Line) => void }} props */
function CheckLine({ check, number, line, error, onLine }) {
  const read = check.answer === "reading" && line.typed ? answerOn(check, line) : null;
  const bad = "answer" in (read ?? {}) ? /** @type {any} */ (read).answer.answer === "not ok" : false;
  const chosen = check.answer === "choice" && line.choice ? answerOn(check, line) : null;
  const notOk = line.mark !== "n/a" && (line.mark === "not ok" || bad || (chosen && "answer" in chosen && chosen.answer.answer === "not ok"));
  const unit = check.factor && check.factor !== 1 ? "as shown" : check.unit ?? "";
  return html`<li class=${`sheet-line${check.stop ? " sheet-stop" : ""}`}><p><b>${number}. ${check.stop ? "STOP: " : ""}${check.text}</b></p>
    ${check.band && html`<p class="soft">${limitsSaid(check.band, check.unit ?? "")}</p>`}
    ${check.answer === "reading" && html`<${NumberField} label="Value" unit=${unit} value=${line.typed ?? ""} onValue=${(/** @type {string} */ typed) => onLine({ typed })} />`}
    ${check.answer === "choice" && html`<${SelectField} label="What is ticked" blank="Choose" value=${line.choice ?? ""} options=${(check.choices ?? []).map(({ text }) => ({ value: text, text }))}
      onValue=${(/** @type {string} */ choice) => onLine({ choice })} />`}
    <${ChoiceField} label=${`Ticked at ${number}`} value=${line.mark ?? ""} options=${check.answer === "choice" ? MARKS.slice(2) : MARKS} error=${error}
      onValue=${(/** @type {any} */ mark) => onLine({ mark: mark === line.mark ? "" : mark })} />
    ${(notOk || line.mark === "n/a" || line.note) && html`<${TextField} label=${notOk ? "What was found" : "Note"} value=${line.note ?? ""} maxLength=${4000} onValue=${(/** @type {string} */ note) => onLine({ note })} />`}
    ${notOk && html`<${TextField} label="What was done about it" hint="Empty: it is still open." value=${line.done ?? ""} maxLength=${4000} onValue=${(/** @type {string} */ done) => onLine({ done })} />`}</li>`;
}

/** Checklists to choose from, by machine. @param {string} machine an id, or empty */
function listsOf(machine) {
  const { checklists, byId } = definitions.value;
  const named = inUse(checklists).filter((list) => !machine || list.machine === machine)
    .map((list) => ({ value: list.id, text: `${list.machine ? byId.get(list.machine)?.name ?? "" : "The shop"}: ${list.name}` }));
  return named.sort((a, b) => a.text.localeCompare(b.text, undefined, { numeric: true }));
}

/** @param {import("./shared.js").LogProps} props */
export default function SheetForm({ query }) {
  const { zone, today } = calendar.value;
  const form = useForm({ list: query.get("list") ?? "", day: "", begun: "", ended: "", who: person.value?.id ?? "", lines: /** @type {Record<string, Line>} */ ({}), counters: /** @type {Record<string, string>} */ ({}) });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const { values, errors } = form;
  const lists = listsOf(query.get("machine") ?? "");
  const checklist = lists.some(({ value }) => value === values.list) ? definitions.value.byId.get(values.list) ?? null : null;
  const machine = checklist?.machine ? definitions.value.byId.get(checklist.machine) ?? null : null;
  if (kept) return html`<${KeptPage} title="Printed sheet" said=${kept} to=${{ href: "#/log/sheet", text: "Another sheet" }} also=${{ href: "#/log", text: "Log" }} />`;
  if (!lists.length) return html`<${Page} title="Printed sheet" back="#/log"><${Empty}>There is no checklist here. <a href="#/setup/checklists">Set one up</a>.<//><//>`;
  const send = async () => {
    if (!checklist) return form.setErrors({ list: "Choose the list that is printed at the top of the sheet." });
    const made = sheetEntries({ checklist, machine, sheet: values, zone, now: new Date(), newId });
    if ("errors" in made) return form.setErrors(made.errors);
    const bad = made.entries.filter(({ kind }) => kind === "finding.opened").length;
    return keep(made.entries, `${machine?.name ?? "The shop"}: ${checklist.name} of ${values.day}, typed in from paper${bad ? `, with ${bad} not ok` : ""}.`);
  };
  const line = (/** @type {string} */ id, /** @type {Line} */ some) => {
    form.set({ lines: { ...values.lines, [id]: { ...values.lines[id], ...some } } });
    form.setErrors({ ...errors, [id]: null });
  };
  const people = inUse(definitions.value.people).map(({ id, name }) => ({ value: id, text: name }));
  return html`<${Page} title="Printed sheet" back="#/log"><${Form} onSend=${send} problem=${problem ?? (Object.values(errors).some(Boolean) ? "Something is missing: look at what is marked above." : null)}>
    <${SelectField} label="Machine and list" blank="Choose what stands at the top of the sheet" options=${lists} ...${form.field("list")} />
    ${checklist && html`<${TextField} label="Date on the sheet" type="date" ...${form.field("day")} />
    <div class="pair"><${TextField} label="Begun at" type="time" ...${form.field("begun")} /><${TextField} label="Ended at" type="time" ...${form.field("ended")} /></div>
    <${SelectField} label="Who walked it" blank="Choose" options=${people} ...${form.field("who")} />
    ${checklist.revision > 1 && html`<${Notice}>The sheet says which revision it is. This is revision ${checklist.revision} of the list: where the sheet is older, go by the words of each check, not by its number.<//>`}
    <ol class="sheet">${checklist.checks.map((/** @type {Check} */ check, /** @type {number} */ index) => html`<${CheckLine} key=${check.id} check=${check} number=${index + 1}
      line=${values.lines[check.id] ?? {}} error=${errors[check.id] ?? null} onLine=${(/** @type {Line} */ some) => line(check.id, some)} />`)}</ol>
    ${machine?.meters.length > 0 && html`<${Section} title="Counters">${machine?.meters.map((/** @type {any} */ meter) => html`<${NumberField} key=${meter.id} label=${meter.name} unit=${meter.unit}
      hint="Empty where none is written down." value=${values.counters[meter.id] ?? ""} error=${errors[meter.id] ?? null} onValue=${(/** @type {string} */ value) => form.set({ counters: { ...values.counters, [meter.id]: value } })} />`)}<//>`}
    <${WillDo} lines=${[values.day && values.day <= today && `The round stands in the record at ${values.day}${values.ended ? `, ${values.ended}` : ""}, marked as typed in from paper.`]} />
    <${Button} big>Keep the sheet<//>`}<//><//>`;
}
