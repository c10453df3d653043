// Bench sums: the trade's arithmetic at hand, without signal, in US units or metric.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { Page, Section, iconOf } from "../../kit/index.js";
import { materials } from "../../core/mixed-dust.js";
import { definitions, entriesOf } from "../../store/index.js";
import { SUMS } from "./list.js";
import { SumPage } from "./page.js";

/** What stands first for a machine, by its drawing. @type {Record<string, string>} */
const FIRST = { saw: "Saw", mill: "Coolant", sander: "Turning, grinding, sanding", cabinet: "Air and blast", compressor: "Air and blast" };

/** How many of a machine's entries are looked through. */
const LOOKED_BACK = 200;

/** What an own alloy counts as in dust, by its main metal. @type {Record<string, string>} */
const METALS = { Cu: "copper alloy", Fe: "steel", Al: "aluminium", Mg: "magnesium", Ti: "titanium" };

/** A batch's body with an own alloy called by its metal: its id says nothing. @param {any} body */
function named(body) {
  const own = definitions.value.byId.get(body.alloy);
  return own ? { ...body, alloy: METALS[own.base] ?? String(own.name) } : body;
}

/** What a sum can take over from a machine's record. @type {Record<string, (machine: string) => Promise<Record<string, string>>>} */
const TAKEN_OVER = {
  "mixed-dust": async (machine) => {
    const batches = (await entriesOf(machine, LOOKED_BACK)).filter(({ kind, voided }) => kind === "batch.run" && !voided);
    return { last: materials(batches.map(({ at, body, amended }) => ({ at: new Date(at).toISOString(), body: named(amended ?? body) }))).join(", ") };
  },
};

/** @param {string} name @param {string | undefined} machine @returns {Record<string, string>} */
function useTakenOver(name, machine) {
  const [found, setFound] = useState(/** @type {Record<string, string>} */ ({}));
  useEffect(() => {
    if (machine) TAKEN_OVER[name]?.(machine).then(setFound);
  }, [name, machine]);
  return found;
}

/** The groups in order, that of the machine first. @param {import("../../store/types.js").Definition | undefined} machine */
function groups(machine) {
  const all = [...new Set(Object.values(SUMS).map(({ group }) => group))];
  const first = machine ? FIRST[iconOf(machine)] : undefined;
  return first ? [first, ...all.filter((group) => group !== first)] : all;
}

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function SumsPlace({ parts: [name = ""], query }) {
  const machine = definitions.value.byId.get(query.get("machine") ?? "");
  const begin = useTakenOver(name, machine?.id);
  const tail = machine ? `?machine=${machine.id}` : "";
  if (Object.hasOwn(SUMS, name)) return html`<${SumPage} sum=${SUMS[name]} begin=${begin} back=${`#/sums${tail}`} />`;
  return html`<${Page} title="Bench sums" back=${machine ? `#/machine/${machine.id}` : "#/log"}>
    <p class="soft">Nothing here is put in the record. All of it works without signal.</p>
    <div class="sum-groups">${groups(machine).map((group) => html`<${Section} key=${group} title=${group}><ul class="lines lines-below">${Object.entries(SUMS)
      .filter(([, sum]) => sum.group === group).map(([word, { title, short }]) => html`<li key=${word}><a href=${`#/sums/${word}${tail}`}><b>${title}</b><span class="soft">${short}</span></a></li>`)}</ul><//>`)}</div><//>`;
}
