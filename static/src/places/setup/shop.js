// The shop itself: name, zone, units, hours, shifts, the days it is closed, and when its reminders come.
import { html } from "htm/preact";
import { useState } from "preact/hooks";
import { Button, DateField, Empty, Section, TextField, TickField, counted, useForm } from "../../kit/index.js";
import { cards, definitions } from "../../store/index.js";
import { sayDate } from "../../core/dates.js";
import { readTimes, TIMES_FIELDS, timesStart } from "../reminders/values.js";
import { calendar } from "../world.js";
import { bodyOf } from "./clash.js";
import { Editor, EditPage } from "./editor.js";
import { SetupPage } from "./frame.js";
import { named } from "./naming.js";
import { Press } from "./press.js";
import { checkShop, ShopFields } from "./shop-fields.js";
import { Shifts, ShopReminders } from "./shop-times.js";

/** @type {Record<string, [string, string]>} */
const FIELDS = {
  name: ["name", "The shop's name"], time_zone: ["zone", "The time zone"], units: ["units", "Units"], hours_a_week: ["hours", "Hours a week"],
  jurisdiction: ["jurisdiction", "Jurisdiction"], holidays: ["holidays", "Days closed"],
  authorities: ["authorities", "Whose limits"], ...TIMES_FIELDS,
};

/** Whose exposure limits the shop goes by. @param {{ form: any }} props */
function Authorities({ form }) {
  const known = Object.entries(cards.value?.authorities ?? {});
  /** @type {string[]} */
  const chosen = form.values.authorities;
  const put = (/** @type {string} */ key, /** @type {boolean} */ on) => form.set({ authorities: on ? [...chosen, key] : chosen.filter((one) => one !== key) });
  return html`<${Section} title="Whose exposure limits"><p class="field-hint">These are shown first, the strictest of all others beside them. With none
    ticked, what is law in the jurisdiction above counts. Local codes come first, whatever is ticked.</p>
    ${known.length ? known.map(([key, { name, place, word, law }]) => html`<${TickField} key=${key} label=${`${name} (${place})`} hint=${`${word}${law ? "" : "; no law"}`}
      on=${chosen.includes(key)} onValue=${(/** @type {boolean} */ on) => put(key, on)} />`) : html`<${Empty}>The list comes to this phone with the next signal. What was ticked before stays.<//>`}
    ${form.errors.authorities && html`<p class="field-error" role="alert">${form.errors.authorities}</p>`}<//>`;
}

/** @param {{ form: any }} props */
function Holidays({ form }) {
  const [day, setDay] = useState("");
  const [all, setAll] = useState(false);
  /** @type {string[]} */
  const holidays = form.values.holidays;
  const past = holidays.filter((one) => one < calendar.value.today).length;
  const shown = all ? holidays : holidays.slice(past);
  const put = (/** @type {string[]} */ days) => form.set({ holidays: [...new Set(days)].sort() });
  const add = () => {
    if (!day) return;
    put([...holidays, day]);
    setDay("");
  };
  return html`<${Section} title="Days closed"><p class="field-hint">Holidays and shutdowns. Forecasts by the meters leave them out.</p>
    ${shown.length ? html`<ul class="days">${shown.map((one) => html`<li key=${one}><span class="num">${sayDate(one)}</span>
      <button type="button" class="plain" aria-label=${`Take out ${sayDate(one)}`} onClick=${() => put(holidays.filter((other) => other !== one))}>Take out</button></li>`)}</ul>` : html`<${Empty}>None to come.<//>`}
    ${past > 0 && !all && html`<div class="row"><${Press} look="plain" onPress=${() => setAll(true)}>${`Show ${counted(past, "day")} gone by`}<//></div>`}
    ${form.errors.holidays && html`<p class="field-error" role="alert">${form.errors.holidays}</p>`}
    <div class="with-button"><${DateField} label="A day" value=${day} onValue=${setDay} /><${Button} line off=${!day} onPress=${add}>Add the day<//></div><//>`;
}

/** @param {import("./editor.js").Opened} props */
function Shop({ base, draft }) {
  const start = {
    name: String(base?.name ?? ""), zone: String(base?.time_zone ?? ""), units: String(base?.units ?? "us"), hours: String(base?.hours_a_week ?? ""),
    jurisdiction: String(base?.jurisdiction ?? "US"), holidays: base?.holidays ?? [], authorities: base?.authorities ?? [],
    ...timesStart(base),
  };
  const form = useForm({ ...start, ...draft.values }); // a draft of an older version lacks what came since
  const check = () => {
    const { errors, body } = checkShop(form.values);
    const times = readTimes(form.values);
    const before = base ? bodyOf(base) : {};
    for (const name of ["shifts", "reminders"]) delete before[name]; // left out, they are as usual
    const { jurisdiction, holidays, authorities } = form.values;
    return { errors: { ...errors, ...times.errors, jurisdiction: named(jurisdiction, "The jurisdiction", 60) }, body: { ...before, ...body, ...times.body, jurisdiction: jurisdiction.trim(), holidays, authorities } };
  };
  return html`<${Editor} type="shop" on="shop" noun="shop" title="Shop" back="setup" base=${base} draft=${draft} form=${form} start=${start} check=${check} fields=${FIELDS}>
    <${ShopFields} form=${form} />
    <${TextField} label="Jurisdiction" hint="Whose rules the shop is under, such as US, US-CA, DE. Limits are shown with the jurisdiction that set them." maxLength=${60} ...${form.field("jurisdiction")} />
    <${Authorities} form=${form} />
    <${Shifts} form=${form} /><${Holidays} form=${form} /><${ShopReminders} form=${form} /><//>`;
}

export function ShopPage() {
  const { shop } = definitions.value;
  if (!shop) return html`<${SetupPage} title="Shop" on="shop"><${Empty}>The shop is not on this phone yet. It comes with the next signal.<//><//>`;
  return html`<${EditPage} id=${shop.id} list=${[shop]} on="shop" noun="shop" form=${Shop} />`;
}
