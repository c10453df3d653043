// The top-up calculator: level and strength in, water and concentrate out, and one press that logs both.
import { html } from "htm/preact";
import { BandStrip, Button, Cautions, ChoiceField, Form, NumberField, TextField, figure, readNumber, sayDay, useForm } from "../../kit/index.js";
import { dayOf } from "../../core/facts.js";
import { localInstant } from "../../store/instants.js";
import { kept } from "../ahead/kept.js";
import { WillDo, useBegun } from "../keeping.js";
import { judgeReading } from "../readings.js";
import { docOf } from "../standing.js";
import { calendar, world } from "../world.js";
import { beginOf } from "./begin.js";
import { blankOf, entriesOf, sayDrain, sayHow, sayPour, saySkip, sayThen, workMix } from "./sum.js";

/** @typedef {import("../../store/types.js").Definition} Definition @typedef {import("./sum.js").Worked} Worked @typedef {import("./sum.js").Typed} Typed */
/** @typedef {(entries: import("../../store/types.js").NewEntry[], said: string) => Promise<boolean>} Keep */

/** The sum in words, large. @param {{ fluid: any, work: Worked, target: number }} props */
export function Recipe({ fluid, work, target }) {
  const { mix, mark, strengthen } = work;
  if (!mix) return null;
  const { unit } = fluid;
  const pour = sayPour(mix, unit);
  const drain = sayDrain(work, target, unit);
  return html`<div class="recipe" role="status">
    ${mix.drain > 0 && html`<p class="pour">First take out ${figure(mix.drain)} ${unit}</p>`}
    <p class="pour">${pour || "Nothing to add"}</p>
    ${sayHow(mix) && html`<p>${sayHow(mix)}</p>`}
    ${drain && html`<p>${drain} ${saySkip(work, fluid)}</p>`}
    <p>${sayThen(mix, target, unit)}${mark !== null ? ` Full is ${figure(mark, 1)} ${fluid.sump.unit} on the dipstick.` : ""}</p>
    ${strengthen !== null && mix.water > 0 && html`<p class="soft">To lift the strength without filling up: ${figure(strengthen)} ${unit} concentrate, by the bucket.</p>`}
  </div>`;
}

/** What it was worked out from, and how sure that makes it. @param {{ fluid: any, work: Worked, own: { reading: boolean, level: boolean } }} props */
function Rests({ fluid, work, own }) {
  if (work.percent === null || work.volume === null) return null;
  const from = `From ${figure(work.volume)} ${fluid.unit} at ${figure(work.percent, 1)} % in a sump of ${figure(fluid.capacity)} ${fluid.unit}, factor ${figure(fluid.factor ?? 1)}.`;
  const doubts = [!work.zeroed && own.reading && "the refractometer was not tried on water", !own.reading && "the strength is an earlier one", !own.level && "the level is reckoned, not read"].filter(Boolean);
  return html`<p class="soft">${from} ${doubts.length ? `Less sure, because ${doubts.join(" and ")}.` : "Read just now, instrument tried on water: as sure as the dipstick."}</p>`;
}

/** @param {{ machine: Definition, fluid: any, problem: string | null, keep: Keep }} props */
function useMixing({ machine, fluid, keep }) {
  const { zone } = calendar.value;
  const found = kept.value?.machines[machine.id]?.fluids?.[fluid.id] ?? null;
  const begin = beginOf(fluid, docOf(world.value, machine), found, kept.value?.as_of ?? null, { now: world.value.now, zone });
  const form = useForm(/** @type {Record<string, string>} */ ({ note: "", water: "", concentrate: "" }));
  useBegun(form, { name: fluid.id });
  const how = form.values.how ?? (begin.level ? "volume" : blankOf(fluid).how);
  /** @type {any} */
  const typed = { ...blankOf(fluid), reading: begin.reading, level: how === "volume" ? begin.level : "", ...form.values, how };
  const work = workMix(fluid, typed);
  const own = { reading: form.values.reading !== undefined, level: form.values.level !== undefined || how === "depth" };
  const water = readNumber(form.values.water, { name: "Water", min: 0, max: 100_000, optional: true });
  const concentrate = readNumber(form.values.concentrate, { name: "Concentrate", min: 0, max: 100_000, optional: true });
  const poured = work.mix && { water: water.value ?? work.mix.water, concentrate: concentrate.value ?? work.mix.concentrate };
  const amount = poured ? poured.water + poured.concentrate : 0;
  const send = () => {
    const errors = { ...work.errors, water: water.error, concentrate: concentrate.error };
    if (!poured || Object.values(errors).some(Boolean)) return form.setErrors(errors);
    const made = entriesOf({ machine: machine.id, fluid, work, typed, own, poured, note: form.values.note.trim() }, localInstant, new Date());
    if (!made.length) return form.setErrors({ none: "Nothing was read and nothing is to be poured in: there is nothing to keep." });
    return keep(made, `${fluid.name}: ${figure(work.percent, 1)} %${own.reading ? " read" : ""}${amount > 0 ? `, ${figure(amount)} ${fluid.unit} added. Run ten minutes and read it again.` : "."}`);
  };
  /** Errors show as soon as something is typed, empty fields only when it is sent. @param {string} name */
  const field = (name) => ({ ...form.field(name), value: typed[name], error: form.errors[name] ?? (typed[name]?.trim() ? work.errors[name] : null) ?? null });
  return { form, begin, typed: /** @type {Typed} */ (typed), work, own, poured, amount, send, field };
}

/** @param {{ machine: Definition, fluid: any, problem: string | null, keep: Keep }} props */
export function MixForm({ machine, fluid, problem, keep }) {
  const { form, begin, typed, work, own, poured, amount, send, field } = useMixing({ machine, fluid, problem, keep });
  const { unit, band } = fluid;
  const factor = fluid.factor ?? 1;
  const judged = work.percent !== null && band ? judgeReading(band, work.percent) : null;
  const target = Number(typed.target);
  const scale = factor === 1 ? "Its figure is the strength in %." : `Times ${figure(factor)} gives the strength in %.`;
  const odd = ["target", "fill", "jug"].some((name) => field(name).error);
  return html`<${Form} onSend=${send} problem=${problem ?? form.errors.none}><${Cautions} keys=${["concentrate", "coolant_skin"]} /><div class="form-grid"><div class="form">
      ${fluid.sump && html`<${ChoiceField} label="Level" options=${[{ value: "depth", text: `By depth, ${fluid.sump.unit}` }, { value: "volume", text: `By volume, ${unit}` }]} value=${typed.how}
        onValue=${(/** @type {string} */ how) => form.set({ how, level: "" })} />`}
      <${NumberField} label=${typed.how === "depth" ? "Depth in the sump now" : "What is in the sump now"} unit=${typed.how === "depth" ? fluid.sump.unit : unit}
        hint=${typed.how === "depth" ? (work.volume === null ? `It holds ${figure(fluid.capacity)} ${unit}.` : `That is ${figure(work.volume)} of ${figure(fluid.capacity)} ${unit}.`)
          : `It holds ${figure(fluid.capacity)} ${unit}. ${own.level ? "" : begin.levelNote}`.trim()} ...${field("level")} />
      <${NumberField} label="On water it showed" unit="Brix" optional hint="Try the refractometer on clean water first: it must show 0." ...${field("zero")} />
      <${NumberField} label="Refractometer" unit="Brix" hint=${`${scale} ${own.reading ? "" : begin.readingNote}`.trim()} ...${field("reading")} />
      ${band && own.reading && html`<${BandStrip} band=${band} value=${work.percent} unit="%" word=${judged?.word ?? ""} />`}
      ${work.percent !== null && html`<p role="status"><b class="num">${figure(work.percent, 1)} %</b>${judged ? `, ${judged.word}` : ""}</p>`}
      <details class="why" open=${odd}><summary>Target ${typed.target || "–"} %, up to ${typed.fill || "–"} ${unit}, jug marked by ${typed.jug || "–"} ${unit}</summary>
        <div class="pair"><${NumberField} label="Target" unit="%" ...${field("target")} /><${NumberField} label="Fill up to" unit=${unit} ...${field("fill")} /></div>
        <${NumberField} label="Smallest mark on the jug" unit=${unit} ...${field("jug")} /></details>
    </div><div class="side">${work.mix && html`<${Recipe} fluid=${fluid} work=${work} target=${target} /><${Rests} fluid=${fluid} work=${work} own=${own} />
      <${WillDo} lines=${[own.reading && `logs the strength: ${figure(work.percent, 1)} %`, own.level && `logs the level: ${figure(work.volume)} ${unit}`,
        poured && amount > 0 && `logs ${sayPour(poured, unit)} as added`]} />
      <details class="why"><summary>I poured in something else</summary><div class="pair"><${NumberField} label="Concentrate" unit=${unit} optional ...${form.field("concentrate")} />
        <${NumberField} label="Water" unit=${unit} optional ...${form.field("water")} /></div></details>`}
      <${TextField} label="Note" lines=${2} optional ...${form.field("note")} />
      <${Button} big>${!work.mix || amount > 0 ? "Keep what I poured in" : "Keep the reading"}<//></div></div><//>`;
}

/** What was filled in since the charge was changed, by this phone's own state. @param {{ machine: Definition, fluid: any }} props */
export function OwnCharge({ machine, fluid }) {
  const own = docOf(world.value, machine).fluids[fluid.id];
  if (!own?.changed_at) return html`<p class="soft">Not known since when this charge is in: log its next change.</p>`;
  const { zone, today } = calendar.value;
  return html`<p>In since ${sayDay(dayOf(own.changed_at, zone), today)}, <span class="num">${figure(own.added)}</span> ${fluid.unit} added since.</p>`;
}
