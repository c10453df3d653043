// Fields of a fluid that let the coolant desk work from a depth, to the marks of the jug; and an oil's grade.
import { html } from "htm/preact";
import { ChoiceField, NumberField, SelectField, TextField } from "../../kit/index.js";

/** @typedef {import("./members.js").Inner} Inner */

const GRADES = [10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460].map((grade) => ({ value: String(grade), text: `ISO VG ${grade}` }));
const WATERS = [["ppm", "ppm, or mg/L"], ["gpg", "grains a gallon"], ["dGH", "German degrees"], ["fH", "French degrees"], ["clark", "Clark degrees"], ["mmol/L", "mmol/L"]]
  .map(([value, text]) => ({ value, text }));
const SHAPES = [{ value: "flat", text: "Flat bottom" }, { value: "table", text: "A dip table" }];
const LENGTHS = ["in", "cm", "mm"].map((value) => ({ value, text: value }));

/** How deep it stands becomes how much: by length and width, or by a table of depths. @param {{ inner: Inner }} props */
function Sump({ inner: { one, at } }) {
  const table = one.sump_by === "table";
  return html`<${ChoiceField} label="Shape of the sump" options=${SHAPES} ...${at("sump_by")} value=${one.sump_by ?? "flat"} />
    ${table ? html`<${TextField} label="Depths and volumes" lines=${4} hint=${`A line for each depth: how deep, and the ${one.unit} it then holds, from the bottom up. Pour in a bucket at a time and dip.`} placeholder=${"2  8.5\n4  17"} ...${at("sump_table")} />`
    : html`<div class="pair"><${NumberField} label="Sump inside, length" optional hint="A dipstick then tells the volume." ...${at("sump_length")} />
      <${NumberField} label="Sump inside, width" optional ...${at("sump_width")} /></div>`}
    <${SelectField} label=${table ? "Depth measured in" : "Sump measured in"} options=${LENGTHS} ...${at("sump_unit")} />`;
}

/** @param {{ inner: Inner }} props */
function CoolantCare({ inner }) {
  const { one, at } = inner;
  return html`<${NumberField} label="Mix it to" optional unit="%" hint="Left empty: the target among the limits above." ...${at("aim")} />
    <${Sump} inner=${inner} />
    <${NumberField} label="Smallest mark on the jug" optional unit=${one.unit} hint="What is to be poured in is rounded to it." ...${at("jug")} />
    <div class="pair"><${NumberField} label="Hardness of the make-up water" optional hint="From a test strip, or the water company." ...${at("water")} />
      <${SelectField} label="Hardness in" options=${WATERS} ...${at("water_unit")} /></div>`;
}

/** What a fluid of this kind is looked after by; nothing for kinds without. @param {{ inner: Inner }} props */
export function FluidCare({ inner }) {
  const kind = String(inner.one.kind);
  if (kind === "coolant") return html`<${CoolantCare} inner=${inner} />`;
  return kind.endsWith("oil") ? html`<${SelectField} label="Grade" optional blank="Not said" options=${GRADES} ...${inner.at("grade")} />` : null;
}
