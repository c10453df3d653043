// The shop's own alloys, each by a mill certificate: they stand first where an alloy is chosen, and raise the same cautions.
import { html } from "htm/preact";
import { DateField, Facts, NumberField, Notice, Section, SelectField, TextField, figure, useForm, where } from "../../kit/index.js";
import { withOwn } from "../../core/own-alloys.js";
import { cards, definitions } from "../../store/index.js";
import { alloyName, matters } from "../air/work.js";
import { alloyValues, readAlloy } from "./alloy-values.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Add, Listing } from "./listing.js";
import { PickOrWrite } from "./pick.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @type {[string, string][]} */
const METALS = [["Cu", "Copper: brass, bronze, copper alloys"], ["Fe", "Iron: steel, stainless, cast iron"], ["Al", "Aluminium"], ["Ti", "Titanium"], ["Mg", "Magnesium"], ["Zn", "Zinc"],
  ["Ni", "Nickel"], ["Sn", "Tin"], ["Ag", "Silver"], ["Co", "Cobalt"]];
const UNITS = [["g/cm3", "g/cm³"], ["lb/in3", "lb/in³"]].map(([value, text]) => ({ value, text }));

/** The server's path -> the form's field and its label. @type {Record<string, [string, string]>} */
const FIELDS = {
  name: ["name", "The name"], uns: ["uns", "The UNS number"], base: ["base", "The main metal"], like: ["like", "Handled like"], composition: ["says", "The analysis"], scrap: ["scrap", "Chips kept apart as"],
  "certificate.number": ["number", "The number"], "certificate.source": ["source", "Whose it is"], "certificate.dated": ["dated", "The date"], density: ["density", "The density"], "density.value": ["density", "The density"],
  notes: ["notes", "Notes"],
  ...Object.fromEntries([...Array(60).keys()].flatMap((place) => ["element", "percent", "at_most"].map((name) => [`composition.${place}.${name}`, ["says", "The analysis"]]))),
};

/** @param {string} symbol */
const nameOf = (symbol) => cards.value?.elements[symbol]?.name ?? symbol;

/** What the app will make of it: what matters, what was taken from the card it is like, how heavy. @param {{ values: Record<string, string> }} props */
function Meaning({ values }) {
  if (!cards.value || !values.says.trim()) return null;
  const { errors, body } = readAlloy(values, cards.value);
  if (errors.says || errors.base || errors.like) return null;
  const made = withOwn(cards.value, [{ ...body, id: "draft", revision: 1, retired: false }]);
  const card = made.alloys.draft;
  const found = matters(made, "draft");
  const inside = found.map(({ said }) => said).join(", ");
  const names = (/** @type {string[]} */ symbols) => symbols.map(nameOf).join(", ");
  const density = card.density && `${figure(card.density.value, 3)} ${card.density.unit.replace("3", "³")}, ${card.density.origin}`;
  return html`<${Section} title="What it means"><${Facts} rows=${[["What matters in it", inside || "nothing at a figure of which the library speaks"], ["Density", density ?? "not known"]]} />
    ${card.beyond && html`<${Notice} title=${`${names(card.beyond)}: not in ${alloyName(cards.value, body.like)}`}>The cautions for it are raised all the same; that card's words on chips and dust do not cover it.<//>`}
    ${card.assumed && html`<${Notice} title=${`Not on the certificate: ${names(card.assumed)}`}>Taken as ${alloyName(cards.value, body.like)} permits, so that no caution is lost. Copy its figure, nought too, where the certificate has one.<//>`}<//>`;
}

/** @param {import("./editor.js").Opened} props */
function Alloy({ base, draft }) {
  const { query } = where.peek();
  const library = Object.entries(cards.value?.alloys ?? {}).filter(([, one]) => !one.certificate);
  const asked = query.get("like") ?? "";
  const metric = definitions.value.shop?.units === "metric";
  const start = alloyValues(base, { like: asked, base: cards.value?.alloys[asked]?.base ?? "", says: query.get("says") ?? "", unit: metric ? "g/cm3" : "lb/in3" });
  const form = useForm(draft.values ?? start);
  const { values } = form;
  const known = METALS.map(([value, text]) => ({ value, text }));
  const bins = Object.entries(cards.value?.behaviours ?? {}).filter(([key]) => key.startsWith("scrap.")).map(([key, word]) => ({ value: key.slice("scrap.".length), text: word.text }));
  const like = { ...form.field("like"), onValue: (/** @type {string} */ key) => form.set({ like: key, base: cards.value?.alloys[key]?.base ?? values.base }) };
  return html`<${Editor} type="alloy" on="alloys" noun="alloy" base=${base} draft=${draft} form=${form} start=${start} check=${() => readAlloy(form.values, cards.value)} fields=${FIELDS}
    leaving="It is no longer offered where an alloy is chosen; what ran of it keeps its name and its cautions." side=${html`<${Meaning} values=${values} />`}>
    <${TextField} label="Name" hint="As the rack's label has it: Brass rod 12 mm, heat T 2207." maxLength=${80} ...${form.field("name")} />
    <${SelectField} label="Handled like" optional hint="The nearest alloy of the library: how its chips and dust behave, and what the certificate does not name." blank="None is near"
      options=${library.map(([value]) => ({ value, text: alloyName(cards.value, value) }))} ...${like} />
    <${PickOrWrite} label="Main metal" other="Another, by its symbol…" maxLength=${2} blank="Choose the metal" options=${known} ...${form.field("base")} />
    <${TextField} label="What the certificate says" lines=${4} hint="Symbols and weight %, with commas between: Cu 61.5, Pb 2.7, Be <0.01. The main metal may be left out: it is then the remainder." ...${form.field("says")} />
    <${Section} title="The certificate"><${TextField} label="Number" hint="Of the certificate or the heat." maxLength=${60} ...${form.field("number")} />
      <${TextField} label="Whose it is" hint="In your words: the rod mill's, with the delivery of 2 March." maxLength=${200} ...${form.field("source")} /><${DateField} label="Date" ...${form.field("dated")} /><//>
    <${Section} title="More, where it is known"><${TextField} label="UNS number" optional maxLength=${6} ...${form.field("uns")} />
      <div class="pair"><${NumberField} label="Density" optional hint="From the certificate; without it that of the alloy above, or one worked out." ...${form.field("density")} /><${SelectField} label="Density in" options=${UNITS} ...${form.field("density_unit")} /></div>
      <${SelectField} label="Chips kept apart as" optional blank=${values.like ? "As the alloy above, unless more matters in this one" : "In a container of its own"} options=${bins} ...${form.field("scrap")} />
      <${TextField} label="Notes" optional lines=${3} maxLength=${2000} ...${form.field("notes")} /><//><//>`;
}

/** @param {{ parts: string[] }} props */
export function Alloys({ parts: [id] }) {
  const { alloys } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${alloys} on="alloys" noun="alloy" form=${Alloy} />`;
  const inside = (/** @type {Definition} */ { id: key }) => (cards.value ? matters(cards.value, key).filter(({ said }) => !said.endsWith("base")).map(({ said }) => said).join(", ") : "");
  return html`<${SetupPage} title="Alloys" on="alloys"><${Add} on="alloys" text="Add an alloy" />
    <${Listing} list=${alloys} on="alloys" side=${(/** @type {Definition} */ one) => one.certificate.number} note=${inside}
      none="None yet. The library has the usual alloys: add one here to go by its mill certificate, or where the library has none like it." /><//>`;
}
