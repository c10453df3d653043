// The purge timer of one blast cabinet: from the end of blasting until the door may be opened.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Button, ButtonLink, Cautions, ChoiceField, Empty, Facts, Notice, NumberField, Page, Section, StateMark, figure, sayWhen, useForm } from "../../kit/index.js";
import { definitions, loadDraft, saveDraft } from "../../store/index.js";
import { BLASTING, NO_EXHAUST, OVER } from "../../core/purge.js";
import { initialsOf } from "../names.js";
import { docOf, inUse } from "../standing.js";
import { calendar, world } from "../world.js";
import { Countdown } from "./countdown.js";
import { definedFigures, isCabinet } from "./cabinet.js";
import { countedOf } from "./purge-copies.js";
import { FIELDS, purgeOf } from "./purge-figures.js";
import { beginBlasting, beginPurge, exhaustStopped, keepPurge } from "./purge-keep.js";
import { allowSound, usePurge } from "./purge-use.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

const REMOVED = [{ value: "99", text: "99 %" }, { value: "99.9", text: "99.9 %", note: "lead, beryllium, cadmium" }];

/** @param {{ found: ReturnType<typeof purgeOf> }} props */
const Reckoned = ({ found }) => (found.seconds === null ? null : html`<p class="soft">${found.why} Rounded up to whole seconds. Source: ${found.source}.</p>`);

/** The figures of the cabinet's definition: the same on every phone. @param {{ machine: Definition, form: any, found: ReturnType<typeof purgeOf> }} props */
function Defined({ machine, form, found }) {
  const { volume, exhaust, mixing, posted } = machine.cabinet;
  const said = (/** @type {any} */ one) => html`<span class="num">${figure(one.value, 3)}</span> ${one.unit.replace("3", "³")}`;
  const rows = [volume && [FIELDS.volume, said(volume)], exhaust && [FIELDS.flow, said(exhaust)], volume && [FIELDS.mixing, figure(mixing, 2)], posted && ["Time posted on the door", `${posted} s`]].filter(Boolean);
  return html`<div class="form"><${Facts} rows=${rows} />${volume && html`<${ChoiceField} label="Dust to be carried off" options=${REMOVED} ...${form.field("removed")} />`}
    ${found.seconds === null && Object.values(found.errors).filter(Boolean).map((error) => html`<p class="field-error" key=${error}>${error}</p>`)}
    <${Reckoned} found=${found} /><p class="soft">As <a href=${`#/setup/machines/${machine.id}`}>Set-up</a> has them, on every phone.</p></div>`;
}

/** Where none are defined: typed here, kept on this phone alone. @param {{ machine: Definition, form: any, us: boolean, found: ReturnType<typeof purgeOf> }} props */
function Figures({ machine, form, us, found }) {
  const { volume, flow, mixing, posted } = form.values;  const shown = (/** @type {string} */ name) => ({ ...form.field(name), error: form.values[name]?.trim() ? found.errors[name] : form.errors[name] ?? null });
  return html`<div class="form"><div class="pair"><${NumberField} label=${FIELDS.volume} unit=${us ? "ft³" : "m³"} ...${shown("volume")} />
      <${NumberField} label=${FIELDS.flow} unit=${us ? "cfm" : "m³/h"} ...${shown("flow")} /></div>
    <${NumberField} label=${FIELDS.mixing} hint="1 where every corner is swept, 10 at worst; 3 where nobody measured it" ...${shown("mixing")} />
    <${ChoiceField} label="Dust to be carried off" options=${REMOVED} ...${form.field("removed")} />
    <${NumberField} label="Time posted on the door" unit="s" optional hint="The longer of the two counts" ...${shown("posted")} />
    <${Reckoned} found=${found} /><p class="soft">Kept on this phone alone. ${found.seconds !== null && html`<a href=${`#/setup/machines/${machine.id}?${new URLSearchParams({ volume, flow, mixing, posted })}`}>Put them in Set-up</a>, and every phone has them.`}</p></div>`;
}

/** The figures of a cabinet: those of its definition, else what this phone keeps. @param {Definition} machine @param {boolean} us @param {number | null} last the time of the newest purge in the record */
function useFigures(machine, us, last) {
  const key = `purge-figures/${machine.id}`;
  const form = useForm(/** @type {Record<string, string>} */ ({ volume: "", flow: "", mixing: "3", removed: "99", posted: last ? String(last) : "" }));
  const [read, setRead] = useState(false);
  useEffect(() => {
    const done = () => setRead(true);
    loadDraft(key).then((held) => { if (held) form.set(held); }).then(done, done);
  }, [key]);
  const text = JSON.stringify(form.values);
  useEffect(() => {
    if (read) saveDraft(key, form.values).catch(() => {});
  }, [text, read]);
  const defined = definedFigures(machine.cabinet);
  return { form, found: defined ? purgeOf({ ...form.values, ...defined.typed }, defined.us) : purgeOf(form.values, us) };
}

/** The buttons of each phase. The way forward stands in one spot. @param {{ machine: Definition, kept: any, seconds: number | null, onMissing: () => void }} props */
function Buttons({ machine, kept, seconds, onMissing }) {
  const phase = kept?.purge?.phase ?? null;
  const go = (/** @type {(id: string, seconds: number) => void} */ act) => () => {
    allowSound();
    if (seconds === null) onMissing();
    else act(machine.id, seconds);
  };
  if (phase === null || phase === OVER) {
    return html`<div class="stack"><${Button} big onPress=${go(beginPurge)}>Blasting has stopped: start the purge<//>
      <${Button} line onPress=${go(beginBlasting)}>Blasting begins: hold the door<//></div>`;
  }
  if (phase === BLASTING || phase === NO_EXHAUST) {
    return html`<${Button} big onPress=${() => { allowSound(); beginPurge(machine.id, kept.purge.seconds); }}>${phase === BLASTING ? "Blasting has stopped: start the purge" : "The exhaust runs again: start anew"}<//>`;
  }
  return html`<div class="pair"><${Button} big line onPress=${() => beginBlasting(machine.id, kept.purge.seconds)}>Blasting again<//>
    <${Button} big line onPress=${() => exhaustStopped(machine.id)}>The exhaust stopped<//></div>`;
}

/** @param {{ machine: Definition }} props */
function LastPurge({ machine }) {
  const last = docOf(world.value, machine).purge;
  if (!last) return html`<p class="soft">No purge of this cabinet is in the record yet.</p>`;
  const whole = last.seconds >= last.needed;
  return html`<${Facts} rows=${[["Last purge", `${sayWhen(last.at, { zone: calendar.value.zone, now: world.value.now })}, ${initialsOf(last.by)}`],
    ["Purged", html`<span class="num">${figure(last.seconds, 0)}</span> s of ${figure(last.needed, 0)} s <${StateMark} mark=${whole ? "fit" : "late"} word=${whole ? "whole" : "cut short"} />`]]} />`;
}

/** @param {{ machine: Definition, kept: any }} props */
function Early({ machine, kept }) {
  const [sure, setSure] = useState(false);
  const [problem, setProblem] = useState(/** @type {string | null} */ (null));
  if (!sure) return html`<${Button} plain onPress=${() => setSure(true)}>The door was opened before the end<//>`;
  const tell = () => keepPurge(machine.id, { early: true }).catch((error) => setProblem(String(error instanceof Error ? error.message : error)));
  return html`<${Notice} title="Dust came out with the door.">It goes in the record as cut short: ${countedOf(kept)} s of ${kept.purge.seconds} s. Leave the place until the air is clear.
    <div class="row"><${Button} line onPress=${tell}>Keep it as cut short<//><${Button} plain onPress=${() => setSure(false)}>No, the door is shut<//></div>
    ${problem && html`<p class="field-error" role="alert">${problem}</p>`}<//>`;
}

/** @param {{ machine: Definition }} props */
function Purge({ machine }) {
  const us = definitions.value.shop?.units !== "metric";
  const last = docOf(world.value, machine).purge ?? null;
  const { kept, ready, problem, again } = usePurge(machine.id);
  const { form, found } = useFigures(machine, us, last?.needed ?? null);
  const running = Boolean(kept) && kept?.purge?.phase !== OVER;
  const missing = () => form.setErrors({ ...found.errors, volume: found.errors.volume ?? "Give the volume and the flow, or the time posted on the door." });
  const foot = ready && html`<${Buttons} machine=${machine} kept=${kept} seconds=${found.seconds} onMissing=${missing} />`;
  return html`<${Page} title="Purge timer" back="#/air" aside=${html`<span>${machine.name}</span>`} foot=${foot}>
    <div class="part-grid"><div class="stack"><${Countdown} kept=${kept} seconds=${found.seconds} />
      ${problem && html`<${Notice} live title=${problem}><${Button} line onPress=${again}>Keep it in the record<//><//>`}
      ${running && kept?.purge && html`<${Early} machine=${machine} kept=${kept} />`}
      <${Cautions} keys=${["open_cabinet"]} /></div>
    <div class="stack">${!running && html`<${Section} title="This cabinet's figures">${machine.cabinet ? html`<${Defined} machine=${machine} form=${form} found=${found} />` : html`<${Figures} machine=${machine} form=${form} us=${us} found=${found} />`}<//>`}
      <${Section} title="In the record"><${LastPurge} machine=${machine} /><//></div></div><//>`;
}

/** @param {{ id: string }} props */
export default function PurgePlace({ id }) {
  const machine = definitions.value.byId.get(id);
  const cabinets = inUse(definitions.value.machines).filter(isCabinet);
  if (machine?.meters) return html`<${Purge} key=${id} machine=${machine} />`;
  return html`<${Page} title="Purge timer" back="#/air">${cabinets.length ? "" : html`<${Empty}>No blast cabinet stands in this shop. <a href="#/setup/stand">Add one in Set-up</a>.<//>`}
    <ul class="lines">${cabinets.map((one) => html`<li key=${one.id}><a href=${`#/air/purge/${one.id}`}><b>${one.name}</b></a></li>`)}</ul>
    ${cabinets.length > 0 && html`<${ButtonLink} line href="#/air">Air & dust<//>`}<//>`;
}
