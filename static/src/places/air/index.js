// Air & dust: alloys and media, what work asks, purge timers, hazards, measurements, exhausts, people.
import { html } from "htm/preact";
import AlloyCard from "./alloy.js";
import Exposures from "./exposures.js";
import Front from "./front.js";
import HazardPage, { Hazards } from "./hazards.js";
import { Alloys, Media } from "./lists.js";
import { AirLog } from "./log/index.js";
import Measure from "./measure.js";
import MediumCard from "./medium.js";
import People from "./people-page.js";
import PurgePlace from "./purge.js";
import RatesPage from "./rates.js";
import StartOfWork from "./start.js";
import Trends from "./trends.js";

/** @param {{ parts: string[], query: URLSearchParams }} props */
export default function AirPlace({ parts: [what = "", id = ""], query }) {
  if (what === "alloy") return html`<${AlloyCard} id=${id} />`;
  if (what === "medium") return html`<${MediumCard} id=${id} />`;
  if (what === "alloys") return html`<${Alloys} />`;
  if (what === "media") return html`<${Media} />`;
  if (what === "work") return html`<${StartOfWork} query=${query} />`;
  if (what === "purge") return html`<${PurgePlace} id=${id} />`;
  if (what === "log") return html`<${AirLog} form=${id} query=${query} />`;
  if (what === "hazard") return html`<${HazardPage} id=${id} />`;
  if (what === "hazards") return html`<${Hazards} />`;
  if (what === "exposures") return html`<${Exposures} />`;
  if (what === "trends") return html`<${Trends} />`;
  if (what === "measure") return html`<${Measure} id=${id} />`;
  if (what === "rates") return html`<${RatesPage} />`;
  if (what === "people") return html`<${People} />`;
  return html`<${Front} />`;
}
