// Fields of a fluid that let the coolant desk work from a depth, to the marks of the jug; and an oil's grade.
import { html } from "htm/preact";
import { NumberField, SelectField } from "../../kit/index.js";

/** @typedef {import("./members.js").Inner} Inner */

const GRADES = [10, 15, 22, 32, 46, 68, 100, 150, 220, 320, 460].map((grade) => ({ value: String(grade), text: `ISO VG ${grade}` }));
const WATERS = [["ppm", "ppm, or mg/L"], ["gpg", "grains a gallon"], ["dGH", "German degrees"], ["fH", "French degrees"], ["clark", "Clark degrees"], ["mmol/L", "mmol/L"]]
  .map(([value, text]) => ({ value, text }));
const LENGTHS = ["in", "cm", "mm"].map((value) => ({ value, text: value }));

/** @param {{ inner: Inner }} props */
function CoolantCare({ inner: { one, at } }) {
  const table = one.sump_table?.table;
  return html`${table ? html`<p class="field-hint">The sump is measured by a table of ${table.length} depths.</p>`
    : html`<div class="pair"><${NumberField} label="Sump inside, length" optional hint="With a flat bottom, a dipstick then tells the volume." ...${at("sump_length")} />
      <${NumberField} label="Sump inside, width" optional ...${at("sump_width")} /></div><${SelectField} label="Sump measured in" options=${LENGTHS} ...${at("sump_unit")} />`}
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

/** The values of a fluid not made yet. @param {string} unit of its volume */
export const noCare = (unit) => ({ sump_table: null, sump_length: "", sump_width: "", sump_unit: unit === "L" ? "cm" : "in", jug: "", water: "", water_unit: "ppm", grade: "" });
