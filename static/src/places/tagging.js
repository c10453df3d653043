// Tags, findings and tasks: put on, taken off, closed, raised, done and put off, each with who and why.
import { html } from "htm/preact";
import { Button, ButtonLink, Cautions, ChoiceField, DateField, Empty, Facts, Form, Notice, NumberField, Page, PhotoField, Section, StateMark, Tag, TextField, TickField, capital, readNumber, sayDay, sayWhen, useForm } from "../kit/index.js";
import { definitions, newId } from "../store/index.js";
import { sayDate } from "../core/dates.js";
import { KeptPage, WillDo, photoOf, useBegun, useKeeping } from "./keeping.js";
import { initialsOf } from "./names.js";
import { docOf, inUse, sayDue, standingOf } from "./standing.js";
import { calendar, world } from "./world.js";

/** @typedef {import("../store/types.js").Definition} Definition */
/** @typedef {{ parts: string[], place: string }} Props */

/** The machine of an address, null for the shop; undefined when it is not known here. @param {string} id */
const machineOf = (id) => (id === "shop" ? null : definitions.value.byId.get(id));

/** @param {Definition | null} machine */
const backTo = (machine) => `#/machine/${machine?.id ?? "shop"}`;

/** @param {string} at */
const when = (at) => sayWhen(at, { zone: calendar.value.zone, now: world.value.now });

/** A text that must say something. @param {string} text @param {string} name */
const wanted = (text, name) => (text.trim() ? null : `${name} is empty. Write at least a few words.`);

/** @param {{ what: string, machine: Definition | null | undefined }} props */
function Gone({ what, machine }) {
  return html`<${Page} title=${what} back="#/shop"><${Empty}>${what} is not open any more. Somebody may have closed it on another phone.<//>
    ${machine && html`<${ButtonLink} line href=${backTo(machine)}>${machine.name}<//>`}<//>`;
}

/** @param {{ machine: Definition }} props */
function TagOn({ machine }) {
  const form = useForm({ why: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const send = () => {
    const error = wanted(form.values.why, "Why it must not be operated");
    if (error) return form.setErrors({ why: error });
    return keep([{ kind: "tag.on", machine: machine.id, body: { why: form.values.why.trim() } }], `${machine.name} is tagged: do not operate. Hang the real tag on it too.`);
  };
  if (kept) return html`<${KeptPage} title=${machine.name} said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: backTo(machine), text: machine.name }} />`;
  return html`<${Page} title=${`Tag ${machine.name}`} back=${backTo(machine)}><${Form} onSend=${send} problem=${problem}>
    <p>Do not operate: nobody starts it until the tag is taken off.</p>
    <${TextField} label="Why it must not be operated" lines=${3} ...${form.field("why")} />
    <${WillDo} lines=${[`${machine.name} shows as tagged out on every phone of the shop`, "its meter tasks rest, and no start-up round can end fit"]} />
    <${Button} big>Put the tag on<//><//><//>`;
}

/** What taking a tag off does beside. @param {import("../core/fold.js").Doc} doc @param {string} id */
function afterTag(doc, id) {
  const tag = doc.tags[id];
  const finding = tag.finding && doc.findings[tag.finding] ? tag.finding : null;
  const raised = Object.entries(doc.raised).filter(([, task]) => finding && task.finding === finding);
  const others = Object.keys(doc.tags).length - 1;
  return { tag, finding, raised, others };
}

/** @param {{ machine: Definition, id: string }} props */
function TagOff({ machine, id }) {
  const doc = docOf(world.value, machine);
  const form = useForm({ done: "", close: true, looked: false });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) {
    const { startUp } = standingOf(world.value, machine);
    const round = startUp && { href: `#/round/${machine.id}/${startUp.checklist.id}`, text: "Start the round" };
    return html`<${KeptPage} title=${machine.name} said=${kept} to=${round ?? { href: "#/today", text: "Today" }} also=${{ href: backTo(machine), text: machine.name }} />`;
  }
  if (!doc.tags[id]) return html`<${Gone} what="This tag" machine=${machine} />`;
  const { tag, finding, raised, others } = afterTag(doc, id);
  const send = () => {
    const done = wanted(form.values.done, "What was done");
    const looked = form.values.looked ? null : "This is not ticked. Look at the machine first, then tick it.";
    if (done || looked) return form.setErrors({ done, looked });
    const text = form.values.done.trim();
    const closing = finding && form.values.close;
    return keep([
      ...(closing ? [{ kind: "finding.closed", machine: machine.id, body: { finding, done: text } }] : []),
      ...(closing ? raised.map(([task]) => ({ kind: "task.done", machine: machine.id, body: { task, note: text } })) : []),
      { kind: "tag.off", machine: machine.id, body: { tag: id, done: text } },
    ], others ? `The tag is off. ${others} more on ${machine.name}: it stays out of service.` : `${machine.name} is back in service. Its start-up round is due again before the first use.`);
  };
  return html`<${Page} title="Take the tag off" back=${backTo(machine)}><${Form} onSend=${send} problem=${problem}>
    <${Facts} rows=${[["Machine", machine.name], ["Tagged", `${when(tag.at)}, ${initialsOf(tag.by)}`], ["Why", tag.why]]} />
    <${TextField} label="What was done" lines=${3} ...${form.field("done")} />
    ${finding && html`<${TickField} label=${`Close the finding: ${doc.findings[finding].text}`} hint=${raised.map(([, task]) => `Also done: ${task.title}`).join(". ")} ...${form.tick("close")} />`}
    <${TickField} label="Tools and people are clear of it, guards are on" ...${form.tick("looked")} />
    <${WillDo} lines=${[others ? `${others} more tags stay on` : `${machine.name} returns to service`, !others && "its start-up round falls due again",
      finding && form.values.close && "the finding and its task are closed with what was done"]} />
    <${Cautions} keys=${machine.cautions ?? []} />
    <${Button} big>Take it off<//><//><//>`;
}

/** Which machine the finding is at. */
function WhereWrong() {
  const places = [...inUse(definitions.value.machines), { id: "shop", name: "Somewhere else in the shop" }];
  return html`<${Page} title="Where is something wrong?" back="#/log"><div class="tags">${places.map(
    ({ id, name }) => html`<${Tag} key=${id} href=${`#/finding/${id}`} title=${name} quiet />`,
  )}</div><//>`;
}

/** @param {{ machine: Definition | null }} props */
function NewFinding({ machine }) {
  const name = machine?.name ?? "The shop";
  const form = useForm({ text: "", stop: "", tag: false, raise: true, photo: /** @type {Blob | null} */ (null) });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const { values } = form;
  const send = async () => {
    const text = wanted(values.text, "What is wrong");
    const stop = values.stop ? null : "Nothing is chosen. Say whether it stops the machine.";
    if (text || stop) return form.setErrors({ text, stop });
    const id = newId();
    const said = values.text.trim();
    const at = machine?.id ?? null;
    return keep([
      { id, kind: "finding.opened", machine: at, body: { text: said, stop: values.stop === "yes", ...(await photoOf(values.photo)) } },
      ...(values.tag && machine ? [{ kind: "tag.on", machine: at, body: { why: said, finding: id } }] : []),
      ...(values.raise ? [{ kind: "task.raised", machine: at, body: { title: `Put right: ${said}`.slice(0, 200), finding: id } }] : []),
    ], values.tag ? `${name} is tagged: do not operate. Hang the real tag on it too.` : "The finding is open until somebody closes it.");
  };
  if (kept) return html`<${KeptPage} title=${name} said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: backTo(machine), text: name }} />`;
  return html`<${Page} title=${`Something is wrong: ${name}`} back=${backTo(machine)}><${Form} onSend=${send} problem=${problem}>
    <${TextField} label="What is wrong" lines=${3} ...${form.field("text")} />
    <${ChoiceField} label="Does it stop the machine?" options=${[{ value: "yes", text: "Yes, it must not start" }, { value: "no", text: "No, it can run" }]} ...${form.field("stop")} />
    ${machine && html`<${TickField} label=${`Tag ${name} at once`} hint="Do not operate. Hang the real tag too." ...${form.tick("tag")} />`}
    <${TickField} label="Raise a task to put it right" ...${form.tick("raise")} />
    <${PhotoField} photo=${values.photo} onPhoto=${(/** @type {Blob | null} */ photo) => form.set({ photo })} />
    <${Button} big>Keep the finding<//><//><//>`;
}

/** @param {{ machine: Definition | null, id: string }} props */
function Finding({ machine, id }) {
  const doc = docOf(world.value, machine);
  const finding = doc.findings[id];
  const form = useForm({ done: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title=${machine?.name ?? "The shop"} said=${kept} to=${{ href: backTo(machine), text: machine?.name ?? "The shop" }} />`;
  if (!finding) return html`<${Gone} what="This finding" machine=${machine} />`;
  const raised = Object.entries(doc.raised).filter(([, task]) => task.finding === id);
  const tags = Object.entries(doc.tags).filter(([, tag]) => tag.finding === id);
  const send = () => {
    const error = wanted(form.values.done, "What was done");
    if (error) return form.setErrors({ done: error });
    const done = form.values.done.trim();
    return keep([
      { kind: "finding.closed", machine: machine?.id ?? null, body: { finding: id, done } },
      ...raised.map(([task]) => ({ kind: "task.done", machine: machine?.id ?? null, body: { task, note: done } })),
    ], "The finding is closed. Walk the start-up round again before the first use.");
  };
  return html`<${Page} title="Finding" back=${backTo(machine)}><div class="stack"><${StateMark} mark=${finding.stop ? "stop" : "due"} word=${finding.text} size=${26} />
    <${Facts} rows=${[["Machine", machine?.name ?? "The shop"], ["Found", `${when(finding.at)}, ${initialsOf(finding.by)}`], ["Stops the machine", finding.stop ? "yes" : "no"]]} /></div>
    ${tags.map(([tag]) => html`<${Notice} key=${tag} title="A tag is on for this.">Taking it off closes the finding too. <a href=${`#/tag/${machine?.id}/${tag}`}>Take the tag off</a><//>`)}
    <${Section} title="Close it"><${Form} onSend=${send} problem=${problem}>
      <${TextField} label="What was done" lines=${3} ...${form.field("done")} />
      <${WillDo} lines=${raised.map(([, task]) => `also done: ${task.title}`)} />
      <${Button} big>Close the finding<//><//><//><//>`;
}

/** @param {{ machine: Definition | null }} props */
function Raise({ machine }) {
  const form = useForm({ title: "", minutes: "" });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  const send = () => {
    const title = wanted(form.values.title, "What is to be done") ?? (form.values.title.length > 200 ? "What is to be done is longer than 200 letters. Shorten it." : null);
    const minutes = readNumber(form.values.minutes, { name: "Minutes", min: 0, max: 100_000, optional: true });
    if (title || minutes.error) return form.setErrors({ title, minutes: minutes.error });
    return keep([{ kind: "task.raised", machine: machine?.id ?? null, body: { title: form.values.title.trim(), ...(minutes.value === null ? {} : { minutes: minutes.value }) } }],
      `To do: ${form.values.title.trim()}. It stands on Today until somebody finishes it.`);
  };
  if (kept) return html`<${KeptPage} title="Task" said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: backTo(machine), text: machine?.name ?? "The shop" }} />`;
  return html`<${Page} title=${`Raise a task: ${machine?.name ?? "the shop"}`} back=${backTo(machine)}><${Form} onSend=${send} problem=${problem}>
    <${TextField} label="What is to be done" lines=${2} ...${form.field("title")} />
    <${NumberField} label="Minutes it takes" unit="min" optional ...${form.field("minutes")} />
    <${Button} big>Raise it<//><//><//>`;
}

/** A defined task or a raised one, as one shape. @param {Definition | null} machine @param {string} id */
function taskOf(machine, id) {
  const { doc, tasks } = standingOf(world.value, machine);
  const judged = tasks.find(({ task }) => task.id === id);
  const raised = doc.raised[id];
  if (judged) return { ...judged.task, due: judged.due, finding: null };
  return raised ? { name: raised.title, steps: [], cautions: machine?.cautions ?? [], due: null, finding: raised.finding, at: raised.at, by: raised.by } : null;
}

/** @param {{ machine: Definition | null, id: string }} props */
function Task({ machine, id }) {
  const task = /** @type {any} */ (taskOf(machine, id));
  const form = useForm({ minutes: "", note: "", photo: /** @type {Blob | null} */ (null) });
  const { problem, kept, keep } = useKeeping();
  useBegun(form, { kept });
  if (kept) return html`<${KeptPage} title=${machine?.name ?? "The shop"} said=${kept} to=${{ href: "#/today", text: "Today" }} also=${{ href: backTo(machine), text: machine?.name ?? "The shop" }} />`;
  if (!task) return html`<${Gone} what="This task" machine=${machine} />`;
  const send = async () => {
    const minutes = readNumber(form.values.minutes, { name: "Minutes", min: 0, max: 100_000, optional: true });
    if (minutes.error) return form.setErrors({ minutes: minutes.error });
    const note = form.values.note.trim();
    return keep([{ kind: "task.done", machine: machine?.id ?? null, body: { task: id, ...(minutes.value === null ? {} : { minutes: minutes.value }), ...(note ? { note } : {}), ...(await photoOf(form.values.photo)) } }],
      `Done: ${task.name}.`);
  };
  return html`<${Page} title=${task.name} back=${backTo(machine)}><div class="form-grid">
    <div class="stack"><${TaskFacts} task=${task} machine=${machine} /><${Cautions} keys=${task.cautions ?? []} />
      ${task.steps?.length > 0 && html`<ol class="steps">${task.steps.map((/** @type {string} */ step) => html`<li key=${step}>${step}</li>`)}</ol>`}
      <${Form} onSend=${send} problem=${problem}>
        <${NumberField} label="Minutes it took" unit="min" optional ...${form.field("minutes")} />
        <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
        <${PhotoField} photo=${form.values.photo} onPhoto=${(/** @type {Blob | null} */ photo) => form.set({ photo })} />
        <${Button} big>It is done<//><//></div>
    ${task.due && html`<div class="side"><${Section} title="Put it off"><${Defer} machine=${machine} task=${task} keep=${keep} /><//></div>`}</div><//>`;
}

/** @param {{ task: any, machine: Definition | null }} props */
function TaskFacts({ task, machine }) {
  const rows = [
    ["Machine", machine?.name ?? "The shop"],
    task.due && ["Stands", [task.due.state, sayDue(task.due)].filter(Boolean).join(", ")],
    task.minutes && ["Takes about", `${task.minutes} min`],
    task.at && ["Raised", `${when(task.at)}, ${initialsOf(task.by)}`],
  ].filter(Boolean);
  return html`<${Facts} rows=${rows} />${task.due && html`<p>${task.due.why}</p>`}
    ${task.why && html`<p class="soft">${task.why} ${task.source && html`(${task.source})`}</p>`}
    ${task.finding && html`<p><a href=${`#/finding/${machine?.id ?? "shop"}/${task.finding}`}>The finding it puts right</a></p>`}`;
}

/** @param {{ machine: Definition | null, task: any, keep: (entries: any[], said: string) => Promise<boolean> }} props */
function Defer({ machine, task, keep }) {
  const { today } = calendar.value;
  const form = useForm({ to: "", why: "" });
  useBegun(form, { name: "defer" });
  const send = () => {
    const to = !form.values.to ? "The new date is empty. Choose a day." : form.values.to <= today ? `The new date is ${capital(sayDay(form.values.to, today))}. Choose a day after today.` : null;
    const why = wanted(form.values.why, "Why it is put off");
    if (to || why) return form.setErrors({ to, why });
    return keep([{ kind: "task.deferred", machine: machine?.id ?? null, body: { task: task.id, to: form.values.to, why: form.values.why.trim() } }],
      `${task.name} is put off to ${sayDate(form.values.to)}.`);
  };
  return html`<${Form} onSend=${send}><${DateField} label="New date" min=${today} ...${form.field("to")} />
    <${TextField} label="Why it is put off" lines=${2} ...${form.field("why")} /><${Button} line>Put it off<//><//>`;
}

/** @param {Props} props */
export default function Tagging({ parts: [at = "", id = ""], place }) {
  if (place === "finding" && !at) return html`<${WhereWrong} />`;
  const machine = machineOf(at);
  if (machine === undefined) return html`<${Gone} what="This machine" machine=${null} />`;
  if (place === "tag" && machine) return id ? html`<${TagOff} machine=${machine} id=${id} />` : html`<${TagOn} machine=${machine} />`;
  if (place === "finding") return id ? html`<${Finding} machine=${machine} id=${id} />` : html`<${NewFinding} machine=${machine} />`;
  if (place === "task") return html`<${Task} machine=${machine} id=${id} />`;
  return html`<${Raise} machine=${machine} />`;
}
