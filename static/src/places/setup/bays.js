// Bays: the places in the shop.
import { html } from "htm/preact";
import { TextField, counted, useForm } from "../../kit/index.js";
import { definitions } from "../../store/index.js";
import { inUse } from "../standing.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { Add, Listing } from "./listing.js";
import { named } from "./naming.js";

/** @typedef {import("../../store/types.js").Definition} Definition */

/** @param {import("./editor.js").Opened} props */
function Bay({ base, draft }) {
  const start = { name: String(base?.name ?? "") };
  const form = useForm(draft.values ?? start);
  const check = () => ({ errors: { name: named(form.values.name, "The bay's name", 80) }, body: { ...(base ? bodyOf(base) : {}), name: form.values.name.trim() } });
  return html`<${Editor} type="bay" on="bays" noun="bay" base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${{ name: ["name", "The bay's name"] }}
    leaving="Machines that stand in it are then shown without a bay."><${TextField} label="Name" maxLength=${80} ...${form.field("name")} /><//>`;
}

/** @param {{ parts: string[] }} props */
export function Bays({ parts: [id] }) {
  const { bays, machines } = definitions.value;
  if (id) return html`<${EditPage} id=${id} list=${bays} on="bays" noun="bay" form=${Bay} />`;
  const standing = (/** @type {Definition} */ bay) => counted(inUse(machines).filter((one) => one.bay === bay.id).length, "machine");
  return html`<${SetupPage} title="Bays" on="bays"><${Add} on="bays" text="Add a bay" /><${Listing} list=${bays} on="bays" none="No bay yet. A small shop may well do without." side=${standing} /><//>`;
}
