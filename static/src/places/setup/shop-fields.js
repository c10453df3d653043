// The shop's own fields, for the first run and for set-up.
import { html } from "htm/preact";
import { ChoiceField, NumberField, SelectField, TextField, readNumber } from "../../kit/index.js";
import { named } from "./naming.js";
import { zoneOptions } from "./zones.js";

const UNITS = [
  { value: "us", text: "Inch", note: "inches, gallons, psi" },
  { value: "metric", text: "Metric", note: "millimetres, litres, bar" },
];

/** @typedef {{ name: string, zone: string, units: string, hours: string }} ShopValues */

/** @param {ShopValues} values */
export function checkShop(values) {
  const hours = readNumber(values.hours, { name: "Hours a week", min: 0, max: 168 });
  return {
    errors: { name: named(values.name, "The shop's name", 120), zone: values.zone ? null : "No time zone is chosen. Choose the shop's.", hours: hours.error },
    body: { name: values.name.trim(), time_zone: values.zone, units: values.units, hours_a_week: hours.value ?? 0 },
  };
}

/** @param {{ form: any }} props */
export function ShopFields({ form }) {
  return html`<${TextField} label="Name of the shop" maxLength=${120} ...${form.field("name")} />
    <${SelectField} label="Time zone" hint="Days begin and end by it." options=${zoneOptions(form.values.zone)} ...${form.field("zone")} />
    <${ChoiceField} label="Units" hint="For new machines; what is written stays as it is." options=${UNITS} ...${form.field("units")} />
    <${NumberField} label="Hours a week" unit="h" hint="How long the machines run in a usual week: forecasts begin with it." ...${form.field("hours")} />`;
}
