// What a blast cabinet's purge timer goes by, on every phone: volume, exhaust, mixing, and the time posted on the door.
import { html } from "htm/preact";
import { NumberField, Section } from "../../kit/index.js";
import { purgeOf } from "../air/purge-figures.js";
import { cabinetUnits, cabinetValues } from "./cabinet-values.js";

/** @param {{ form: import("./members.js").FormState }} props */
export function CabinetFields({ form }) {
  const cabinet = form.values.cabinet ?? cabinetValues(null, true); // a draft of an older app has none
  const { volume, flow } = cabinetUnits(cabinet.us);
  const at = (/** @type {string} */ name) => ({
    value: cabinet[name], error: form.errors[`cabinet_${name}`] ?? null,
    onValue: (/** @type {string} */ value) => {
      form.set({ cabinet: { ...cabinet, [name]: value } });
      form.setErrors((/** @type {any} */ before) => ({ ...before, [`cabinet_${name}`]: null }));
    },
  });
  const { us, ...typed } = cabinet;
  const found = purgeOf({ ...typed, removed: "99" }, us);
  return html`<${Section} title="Purge timer" id="cabinet"><p class="field-hint">With these the timer says how long the door stays shut, on every phone. Measure the flow with the cabinet closed and a clean filter.</p>
    <div class="pair"><${NumberField} label="Cabinet volume" optional unit=${volume.said} ...${at("volume")} /><${NumberField} label="Exhaust flow" optional unit=${flow.said} ...${at("flow")} /></div>
    <${NumberField} label="Mixing factor" hint="1 where every corner is swept, 10 at worst; 3 where nobody measured it" ...${at("mixing")} />
    <${NumberField} label="Time posted on the door" unit="s" optional hint="The longer of the two counts" ...${at("posted")} />
    ${found.seconds !== null && html`<p class="soft">The purge takes ${found.seconds} s until 99 % of the dust is carried off. ${found.why}</p>`}<//>`;
}
