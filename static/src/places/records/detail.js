// One entry: what it says, who made it and when, and the ways to mend it. The first version always stays.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, Empty, Facts, Form, Notice, Page, Section, TextField, capital, figure, sayLong, sayWhen, useForm } from "../../kit/index.js";
import { amendEntry, recent, voidEntry } from "../../store/index.js";
import { sayDate } from "../../core/dates.js";
import { waitsForServer } from "../../core/overlay.js";
import { UNKNOWN, initialsOf, nameOf, unitOf } from "../names.js";
import { Photo } from "../photo.js";
import { riskRows } from "../risk.js";
import { summaryOf } from "../summary.js";
import { calendar, world } from "../world.js";
import { isDay, isId, isWritten, labelOf, sayCode } from "./body.js";
import { BodyFields, useBodyForm } from "./editor.js";
import { Mendings, Seal, deviceOf, useSeal } from "./seal.js";

/** @typedef {import("../entries.js").Row} Row */

const NOT_MENDED = new Set(["entry.amended", "entry.voided", "definition.revised"]);

/** One sample of a measurement. @param {any} sample */
const saySample = ({ value, unit, minutes, below_detection: below }) => html`${below ? "below " : ""}<span class="num">${figure(value, 4)}</span> ${unit} over <span class="num">${figure(minutes, 0)}</span> min`;

/** A list, one behind the other; samples each on a line of their own. @param {string} key @param {any[]} list */
const sayList = (key, list) => list.map((one, place) => html`${place > 0 && (key === "samples" ? html`<br />` : ", ")}${key === "samples" ? saySample(one) : say(key, one)}`);

/** What was said at all of a body. @param {any} body */
const filled = (body) => Object.entries(body).filter(([, value]) => value !== null);

/** A value of a body in words. @param {string} key @param {any} value @returns {import("preact").ComponentChildren} */
function say(key, value) {
  if (Array.isArray(value)) return sayList(key, value);
  if (key === "photo") return html`<${Photo} sha256=${value} />`;
  if (isId(value)) return html`<${Reference} id=${value} />`;
  if (typeof value === "number") return html`<span class="num">${figure(value, 3)}</span>`;
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (key === "started_at") return sayWhen(value, { zone: calendar.value.zone, now: world.value.now });
  if (isDay(value)) return sayDate(value);
  return isWritten(key) ? value : sayCode(String(value));
}

/** What an id stands for: something defined, or another entry. @param {{ id: string }} props */
function Reference({ id }) {
  const name = nameOf(id);
  if (name !== UNKNOWN) return name;
  const entry = recent.value.find((one) => one.id === id);
  return html`<a href=${`#/records/${id}`}>${entry ? summaryOf(entry) : "another entry"}</a>`;
}

/** Parts of a body with rows or a list of their own. */
const APART = new Set(["checks", "adds", "cutters", "risk"]);

/** @param {any} body @returns {[string, import("preact").ComponentChildren][]} */
function rowsOf(body) {
  const own = filled(body).filter(([key]) => !APART.has(key));
  const added = filled(body.adds ?? {}).map(([id, value]) => [nameOf(id), html`<span class="num">+${figure(/** @type {number} */ (value))}</span> ${unitOf(id)}`]);
  const cut = filled(body.cutters ?? {}).map(([id, value]) => [nameOf(id), html`<span class="num">${figure(/** @type {number} */ (value), 2)}</span> min a load`]);
  const risk = body.risk ? riskRows(body.risk) : [];
  return /** @type {any} */ ([...own.map(([key, value]) => [capital(labelOf(key)), say(key, value)]), ...risk, ...added, ...cut]);
}

/** @param {{ checks: any[] }} props */
function Checks({ checks }) {
  return html`<${Section} title="Checks"><${Facts} rows=${checks.map((check) => [
    nameOf(check.check),
    html`${check.answer}${typeof check.value === "number" ? html`, <span class="num">${figure(check.value, 3)}</span> ${check.unit ?? ""}` : ""}${check.choice ? `, ${check.choice}` : ""}${
      check.verdict && check.verdict !== "within" ? ` (${check.verdict})` : ""}${check.note ? html`<br /><span class="soft">${check.note}</span>` : ""}${check.photo ? html`<br /><${Photo} sha256=${check.photo} />` : ""}`,
  ])} /><//>`;
}

/** When it was, in the shop's zone; said where the phone's own clock was off. @param {Row} entry @returns {[string, any][]} */
function whenRows(entry) {
  const clock = { zone: calendar.value.zone, now: world.value.now };
  const { marked, effective_at: corrected, offset_ms: offset } = entry.receipt ?? {};
  const when = html`<span class="num">${sayWhen(corrected ?? entry.at, clock)}</span>`;
  if (!marked) return [["When", when]];
  return [["When", when], ["Clock", `that device's clock was off by ${sayLong(Math.abs(offset) / 1000)}: it said ${sayWhen(entry.at, clock)}, and its time is corrected`]];
}

/** Whether a voiding or an amendment of this phone's waits, and this phone cannot work out by itself what follows. @param {Row} entry */
const waitsHere = (entry) => waitsForServer(entry.kind, entry.voided === true)
  && recent.value.some((one) => one.unsent && ["entry.amended", "entry.voided"].includes(one.kind) && one.body.entry === entry.id);

/** @param {{ id: string, entry: Row | null }} props `entry`: as this phone has it */
export function Detail({ id, entry: here }) {
  const seal = useSeal(id, !here?.unsent);
  const entry = here ?? seal.entry;
  if (!entry) {
    return html`<${Page} title="Entry" back="#/records"><${Empty}>${seal.missing ? "There is no such entry in the record." : "This entry is not on this phone. It is fetched from the server where there is signal."}<//><//>`;
  }
  const body = entry.amended ?? entry.body;
  const finding = entry.kind === "finding.opened" ? entry.id : body.finding;
  const head = /** @type {[string, any][]} */ ([
    ...whenRows(entry), ["Who", `${nameOf(entry.by)} (${initialsOf(entry.by)})`], ["Device", deviceOf(entry, seal.entry?.device)],
    ["Machine", entry.machine ? html`<a href=${`#/machine/${entry.machine}`}>${nameOf(entry.machine)}</a>` : "The shop"],
    ["Sent", entry.unsent ? "not yet: kept on this phone" : "yes"],
  ]);
  const mendings = seal.entry?.mendings ?? recent.value.filter((one) => ["entry.amended", "entry.voided"].includes(one.kind) && one.body.entry === id).reverse();
  return html`<${Page} title=${summaryOf(entry)} back="#/records"><div class="form-grid"><div class="stack">
      ${entry.voided && html`<${Notice} title="Voided">It counts for nothing, and stays in the record.<//>`}
      ${entry.amended && html`<${Notice} title="Amended">The figures below are the newest. The first version stays in the record.<//>`}
      ${waitsHere(entry) && html`<${Notice} live title="Other pages may still count it as it was">What hangs on it is worked out anew by the server, once this is sent.<//>`}
      <${Facts} rows=${head} /><${Facts} rows=${rowsOf(body)} />${body.checks && html`<${Checks} checks=${body.checks} />`}
      ${finding && html`<a class="all-entries" href=${`#/records?finding=${finding}`}>All that belongs to this finding</a>`}
      <${Mendings} mendings=${mendings} /><${Seal} entry=${entry} seal=${seal} />
    </div>${!entry.voided && !NOT_MENDED.has(entry.kind) && html`<div class="side"><${Mend} key=${JSON.stringify(body)} entry=${entry} body=${body} /></div>`}</div><//>`;
}

/** @param {{ entry: Row, body: any }} props */
function Mend({ entry, body }) {
  const [way, setWay] = useState("");
  if (way === "amend") return html`<${Amend} entry=${entry} body=${body} onDone=${() => setWay("")} />`;
  if (way === "void") return html`<${Void} entry=${entry} onDone=${() => setWay("")} />`;
  return html`<div class="row"><${Button} line onPress=${() => setWay("amend")}>Amend it<//><${Button} line onPress=${() => setWay("void")}>Void it<//></div>`;
}

/** @param {string} why */
const whyMissing = (why) => (why.trim() ? null : "Why is empty. Write a few words: it stays beside the entry.");

/** @param {{ entry: Row, body: any, onDone: () => void }} props */
function Amend({ entry, body, onDone }) {
  const editor = useBodyForm(entry, body);
  const form = useForm({ why: "" });
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const send = async () => {
    const read = editor.read();
    const why = whyMissing(form.values.why);
    form.setErrors({ why });
    if (!read || why) return;
    if (!read.changed) return setProblem("Nothing is different yet. Change a field, or leave it.");
    try {
      await amendEntry(/** @type {any} */ (entry), read.body, form.values.why.trim());
      onDone();
    } catch (error) {
      setProblem(`It is not amended: ${error instanceof Error ? error.message : error}`);
    }
  };
  return html`<${Section} title="Amend it"><${Form} onSend=${send} problem=${problem}>
    ${editor.fields.length ? html`<${BodyFields} editor=${editor} />` : html`<p class="soft">Nothing in this entry can be changed. Void it and make it again.</p>`}
    <${TextField} label="Why it is amended" lines=${2} ...${form.field("why")} />
    <div class="row"><${Button} off=${!editor.fields.length}>Amend<//><${Button} plain onPress=${onDone}>Leave it<//></div><//><//>`;
}

/** @param {{ entry: Row, onDone: () => void }} props */
function Void({ entry, onDone }) {
  const form = useForm({ why: "" });
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  const send = async () => {
    const why = whyMissing(form.values.why);
    if (why) return form.setErrors({ why });
    try {
      await voidEntry(/** @type {any} */ (entry), form.values.why.trim());
      onDone();
    } catch (error) {
      setProblem(`It is not voided: ${error instanceof Error ? error.message : error}`);
    }
  };
  return html`<${Section} title="Void it"><${Form} onSend=${send} problem=${problem}>
    <p>It then counts for nothing: meters, lives and due dates are reckoned without it. It stays in the record.</p>
    <${TextField} label="Why it is voided" lines=${2} ...${form.field("why")} />
    <div class="row"><${Button}>Void<//><${Button} plain onPress=${onDone}>Leave it<//></div><//><//>`;
}
