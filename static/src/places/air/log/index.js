// The forms of Air & dust: each short, each kept without signal.
import { html } from "htm/preact";
import { Icon, Page } from "../../../kit/index.js";
import AirCheckForm from "./check.js";
import ChipsForm from "./chips.js";
import ExposureForm from "./exposure.js";
import HazardForm from "./hazard.js";
import { FitForm, PpeForm, TrainingForm } from "./people.js";

/** @type {Record<string, { text: string, icon: string, form: import("preact").ComponentType<any> }>} */
const FORMS = {
  hazard: { text: "Note a hazard", icon: "hand", form: HazardForm },
  check: { text: "Check of the air", icon: "meter", form: AirCheckForm },
  exposure: { text: "Measured dust or noise", icon: "lung", form: ExposureForm },
  ppe: { text: "Equipment checked", icon: "eye", form: PpeForm },
  fit: { text: "Fit test", icon: "lung", form: FitForm },
  training: { text: "Training signed off", icon: "check", form: TrainingForm },
  chips: { text: "Chips and dust weighed", icon: "stock", form: ChipsForm },
};

/** The ways in, as tiles. */
export function FormTiles() {
  return html`<div class="log-ways">${Object.entries(FORMS).map(([name, { text, icon }]) => html`<a key=${name} class="log-way" href=${`#/air/log/${name}`}><${Icon} name=${icon} size=${36} />${text}</a>`)}
    <a class="log-way" href="#/air/purge"><${Icon} name="cabinet" size=${36} />Purge timer</a></div>`;
}

/** @param {{ form: string, query: URLSearchParams }} props */
export function AirLog({ form, query }) {
  const Found = FORMS[form]?.form;
  if (Found) return html`<${Found} query=${query} />`;
  return html`<${Page} title="Log air & dust" back="#/air"><${FormTiles} /><//>`;
}
